"""Fitting how much of the sun comes through, on the days whose radiation is measured. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import inf

import numpy as np
from numpy.typing import NDArray

from models.agronomy.sky import DARKEST_MJ_M2, WET_DAY_MM, Array, Clearness, sky_at
from models.agronomy.soil_fit import Records, Stations, run
from models.agronomy.soil_laws import FITTED


def fit_clearness(records: Records, folds: Sequence[Stations]) -> list[Clearness]:
    """Least squares on the days with measured radiation, one for each set of stations.

    Where a set has no such day, or none with sun hours, those numbers stay as shipped.
    """
    weather, shipped = records.weather, FITTED.clearness
    if weather.radiation_mj_m2 is None or weather.sun_h is None:
        return [shipped for _ in folds]
    outer, length_h = _skies(records)
    clear = _range_clear(records)
    rain_mm, radiation = weather.rain_mm, weather.radiation_mj_m2
    ones = np.ones_like(clear)
    by_range = np.stack([ones, clear, (rain_mm >= WET_DAY_MM) * 1.0, np.log1p(rain_mm)], -1)
    by_sun = np.stack([ones, weather.sun_h / length_h], -1)
    measured = (radiation > DARKEST_MJ_M2) & np.isfinite(records.soil_c)
    sunny = measured & np.isfinite(weather.sun_h)
    told = (shipped.base, shipped.by_range, shipped.wet, shipped.by_log_rain)
    told_by_sun = (shipped.angstrom_base, shipped.angstrom_sun)
    return [
        Clearness(
            *_fit_share(by_range, outer, radiation, _at(measured, fold), told),
            *_fit_share(by_sun, outer, radiation, _at(sunny, fold), told_by_sun),
        )
        for fold in folds
    ]


def _skies(records: Records) -> tuple[Array, Array]:
    skies = [sky_at(records.latitudes, int(day)) for day in records.days_of_year]
    return np.array([sky.radiation_mj_m2 for sky in skies]), np.array([sky.day_length_h for sky in skies])


def _range_clear(records: Records) -> Array:
    """√(range / the site's own mean range so far), as the estimate sees it."""
    laws = replace(FITTED, windy_after=inf)
    return run(records, records.stations, laws, ["range_clear"])[:, 0]


def _at(days: NDArray[np.bool_], stations: Stations) -> NDArray[np.bool_]:
    chosen = np.zeros_like(days)
    chosen[:, list(stations)] = days[:, list(stations)]
    return chosen


def _fit_share(
    terms: Array, outer: Array, radiation: Array, days: NDArray[np.bool_], shipped: Sequence[float | Array]
) -> Sequence[float | Array]:
    if not days.any():
        return shipped
    fitted = np.linalg.lstsq(terms[days] * outer[days][:, None], radiation[days], rcond=None)[0]
    return [float(value) for value in fitted]
