"""Fits what is believed of a place before any reading, from a soil estimate's errors at measured places."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from models.agronomy.lawn_prior import LOAD_DAYS, PACE_DAYS, USUAL_LOAD_MM
from models.facts.weather import SoilDay

LAGS = 121  # days of autocovariance that the fading errors are fitted on
LASTING = ("offset_sd_c", "exposure_sd_c_per_mm", "quickness_sd")
FADING = ("weeks_sd_c", "weeks_fade", "days_sd_c", "days_fade", "record_sd_c")
Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class PlaceErrors:
    """Measured less estimated soil on consecutive days (NaN where none), °C, and how the lasting parts
    count on each: shapes (days,) and (days, 3)."""

    errors_c: Floats
    looks: Floats


def place_errors(soil_days: Sequence[SoilDay], measured_c: Mapping[date, float]) -> PlaceErrors:
    """Of a place's soil days, without a hole between them."""
    means = np.array([soil.mean_10cm_c for soil in soil_days])
    loads = np.array([soil.reference_et_mm for soil in soil_days])
    measured = np.array([measured_c.get(soil.day, np.nan) for soil in soil_days])
    load, pace = _trailing(loads, LOAD_DAYS) - USUAL_LOAD_MM, means - _trailing(means, PACE_DAYS)
    return PlaceErrors(measured - means, np.stack([np.ones_like(means), load, pace], axis=-1))


def fit_readings(places: Sequence[PlaceErrors]) -> dict[str, float]:
    """Spreads of the lasting parts over the places, and spreads and fading of the estimate's own errors.

    Lasting parts: least squares at each place; their mean squares, times n/(n-2), since few places tell a
    spread only so well (the variance of Student's t). Fading: two exponentials and the record's own error,
    by least squares on the mean autocovariance of what the lasting parts leave. Three places at least.
    """
    if len(places) < 3:
        raise ValueError(f"{len(places)} places cannot tell how places differ: give three or more")
    solved = [_solved(place) for place in places]
    parts = np.array([coefficients for coefficients, _ in solved])
    spreads = np.sqrt((parts**2).sum(axis=0) / (len(places) - 2))
    lasting = dict(zip(LASTING, map(float, spreads), strict=True))
    return {**lasting, **_fading(np.mean([_autocovariance(left) for _, left in solved], axis=0))}


def _trailing(values: Floats, days: int) -> Floats:
    """Mean of each value and those before it, up to `days` of them."""
    sums = np.concatenate([[0.0], np.cumsum(values)])
    ends = np.arange(1, len(values) + 1)
    starts = np.maximum(0, ends - days)
    means: Floats = (sums[ends] - sums[starts]) / (ends - starts)
    return means


def _solved(place: PlaceErrors) -> tuple[Floats, Floats]:
    there = ~np.isnan(place.errors_c)
    solved = np.linalg.lstsq(place.looks[there], place.errors_c[there], rcond=None)[0]
    coefficients = np.asarray(solved, dtype=np.float64)
    return coefficients, place.errors_c - place.looks @ coefficients


def _autocovariance(left_c: Floats) -> Floats:
    days = len(left_c)
    return np.array([np.nanmean(left_c[lag:] * left_c[: days - lag]) for lag in range(LAGS)])


def _fading(covariance: Floats) -> dict[str, float]:
    from scipy.optimize import least_squares  # here: heavy, and only fitting needs it

    lags = np.arange(LAGS)

    def misfit(logs: Floats) -> Floats:
        weeks, weeks_fade, days, days_fade, record = np.exp(logs)
        modelled = weeks**2 * np.exp(-lags / weeks_fade) + days**2 * np.exp(-lags / days_fade)
        # Far lags say little each, and there are many of them.
        off: Floats = (modelled + record**2 * (lags == 0) - covariance) / np.sqrt(1 + lags)
        return off

    found = least_squares(misfit, np.log([0.35, 25.0, 0.6, 2.5, 0.25]))
    return dict(zip(FADING, map(float, np.exp(found.x)), strict=True))
