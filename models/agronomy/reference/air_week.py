"""The 7-day mean of air as the soil temperature: the rule of thumb in use (common practice).

For judging only; nothing that is planned rests on it.
"""

from __future__ import annotations

import numpy as np

from models.agronomy.reference.station import Series, StationWeather

WEEK = 7


def air_week_c(weather: StationWeather) -> Series:
    """Mean of (minimum + maximum) / 2 over each day and the six before it, °C; the first six have nan."""
    mean_c = np.full(len(weather.days), np.nan)
    if len(weather.days) >= WEEK:
        mean_c[WEEK - 1 :] = np.convolve(weather.mean_c, np.full(WEEK, 1 / WEEK), mode="valid")
    return mean_c
