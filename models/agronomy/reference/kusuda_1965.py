"""The annual wave of the ground. Kusuda & Achenbach 1965, ASHRAE Transactions 71(1):61-75 (from memory):

    T(z, t) = Tm - A exp(-z/d) cos(2 pi (t - t0) / 365 - z/d),   d = sqrt(365 a / pi)

Mean, amplitude and day of the minimum are those of the site's air so far. The diffusivity is an average
ground's, 0.025 ft²/h (from memory); at 10 cm half or twice of it changes 3 % of the amplitude.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from models.agronomy.reference.station import Series, StationWeather

DEPTH_M = 0.10
DIFFUSIVITY_M2_S = 0.645e-6
DAY_S = 86_400.0
YEAR_DAYS = 365.0
LEAST_DAYS = 365


def damping_depth_m(diffusivity_m2_s: float, period_s: float) -> float:
    """Depth at which a wave of that period keeps 1/e of its surface amplitude (Hillel 1982)."""
    return float(np.sqrt(diffusivity_m2_s * period_s / np.pi))


def ground_wave_c(
    day: Series | float,
    depth_m: float,
    mean_c: Series | float,
    amplitude_c: Series | float,
    coldest_day: Series | float,
    diffusivity_m2_s: float = DIFFUSIVITY_M2_S,
) -> Series:
    """Ground temperature, °C, on a day (0 to 365, fractions allowed) at a depth."""
    lag = depth_m / damping_depth_m(diffusivity_m2_s, YEAR_DAYS * DAY_S)
    angle = 2 * np.pi * (np.asarray(day) - coldest_day) / YEAR_DAYS - lag
    return np.asarray(mean_c - amplitude_c * np.exp(-lag) * np.cos(angle), dtype=np.float64)


def kusuda_c(weather: StationWeather) -> Series:
    """Ground at 10 cm, °C, from the air of all earlier days; nan in the first 365."""
    day = weather.day_of_year
    mean_c, amplitude_c, coldest_day = _air_waves_so_far(weather.mean_c, day)
    ground_c = ground_wave_c(day.astype(np.float64), DEPTH_M, mean_c, amplitude_c, coldest_day)
    ground_c[:LEAST_DAYS] = np.nan
    return ground_c


def _air_waves_so_far(air_c: Series, day: NDArray[np.int64]) -> tuple[Series, Series, Series]:
    """Mean, amplitude and coldest day of the wave fitted to all days before each, by least squares."""
    angle = 2 * np.pi * day / YEAR_DAYS
    design = np.stack([np.ones_like(angle), np.cos(angle), np.sin(angle)], axis=1)
    squares = np.cumsum(design[:, :, None] * design[:, None, :], axis=0)
    products = np.cumsum(design * air_c[:, None], axis=0)
    weights = np.full((len(air_c), 3), np.nan)
    known = slice(LEAST_DAYS - 1, len(air_c) - 1)
    weights[LEAST_DAYS:] = np.linalg.solve(squares[known], products[known][:, :, None])[:, :, 0]
    mean_c, cosine_c, sine_c = weights.T
    warmest_day = np.arctan2(sine_c, cosine_c) * YEAR_DAYS / (2 * np.pi)
    return mean_c, np.hypot(cosine_c, sine_c), warmest_day + YEAR_DAYS / 2
