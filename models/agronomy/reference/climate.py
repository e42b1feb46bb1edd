"""The soil's climate: annual mean and two harmonics of measured soil, the same every year.

Least squares on the records of *other* stations, so that it never saw the one that is judged
(common practice in climatology: first and second annual harmonic).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date

import numpy as np
from numpy.typing import NDArray

from models.agronomy.reference.station import Series

YEAR_DAYS = 365.25
HARMONICS = 2


def climate_c(days: Sequence[date], others_measured_c: Sequence[Mapping[date, float]]) -> Series:
    """Soil of the season, °C, on each of `days`; nan throughout where no other station measured any."""
    measured = [pair for station in others_measured_c for pair in station.items()]
    if not measured:
        return np.full(len(days), np.nan)
    design = _harmonics([day for day, _ in measured])
    weights, *_ = np.linalg.lstsq(design, np.array([mean_c for _, mean_c in measured]), rcond=None)
    season_c: Series = _harmonics(days) @ weights
    return season_c


def _harmonics(days: Sequence[date]) -> NDArray[np.float64]:
    """Shape (days, 5): one, then cosine and sine of each harmonic."""
    angle = 2 * np.pi * np.array([day.timetuple().tm_yday for day in days]) / YEAR_DAYS
    columns = [np.ones_like(angle)]
    for order in range(1, HARMONICS + 1):
        columns += [np.cos(order * angle), np.sin(order * angle)]
    return np.stack(columns, axis=1)
