"""Daily mean soil temperature at 10 cm and from 2 to 5 cm, from daily weather, for many sites at once.

A column of soil is heated and cooled from above, day after day; what it gets wrong in the same way
everywhere is put right by a correction (see `correction.py`). The estimate of a day uses that day and
earlier ones. Arrays of days are (days, sites); a state holds (sites,) and (layers, sites). Cutting the
days into calls changes no bit, nor does another site in the call.
"""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from models.agronomy.column import AT_2_TO_5_CM, AT_10_CM, DEPTHS_M, column, column_day
from models.agronomy.daily_arrays import Estimates, States, Weather
from models.agronomy.daily_course import DailyCourse, daily_course
from models.agronomy.sky import Array, measured_share, share_of_sun, sky_at
from models.agronomy.soil_laws import FITTED, Form, Laws, Surface
from models.agronomy.topsoil import HEAT, TOPSOIL_MM, Heat, evaporation_mm, topsoil_after_mm
from models.facts.place import Texture

MJ_TO_W = 1e6 / 86_400.0

# Of the annual wave in loam (Campbell & Norman 1998, chapter 8, from memory: about 2 m).
ANNUAL_DAMPING_M = 2.0

# Shares of a day in the slow means of air and radiation, and in the season's (fitted with the correction).
SLOW, SEASON = 0.05, 0.03
RISE_MJ_M2 = 8.0

# Measured clearness on the scale of the one from the temperature range: where √(range / mean) is 1 some
# 0.4 of the radiation comes through, and 0.35 more for each 1 more (`CLEARNESS` in `fitted.py`).
CLEAR_SHARE, CLEAR_SLOPE = 0.4, 0.35


@dataclass(frozen=True, slots=True)
class DayLooks:
    """What the correction and the spread look at, and at which sites wind is known long enough."""

    inputs: dict[str, Array]
    windy: NDArray[np.bool_]


def first_states(
    latitude_degrees: Array, first_air_c: Array, day_of_year: int, laws: Laws = FITTED
) -> States:
    """States before the first day: the store full; the column goes from the first air to the year's mean.

    The year's mean by latitude is 27 °C · cos² (engineering choice, some 3 °C off; the warm-up's spread
    covers it).
    """
    one = np.ones(len(latitude_degrees))
    year_c = 27.0 * np.cos(np.radians(latitude_degrees)) ** 2
    fading = np.exp(-DEPTHS_M / ANNUAL_DAMPING_M)[:, None]
    sun = sky_at(latitude_degrees, day_of_year).radiation_mj_m2
    return States(
        days_seen=0 * one,
        layers_c=year_c + fading * (first_air_c - year_c),
        mean_range_c=laws.prior_range_c * one,
        mean_wind_m_s=laws.prior_wind_m_s * one,
        winds_seen=0 * one,
        topsoil_mm=TOPSOIL_MM * one,
        air_c=np.nan * one,
        air_slow_c=np.nan * one,
        high_c=np.nan * one,
        clear=np.nan * one,
        radiation_slow=sun,
        radiation_season=sun,
    )


def advance_arrays(
    states: States,
    weather: Weather,
    days_of_year: NDArray[np.int64],
    latitude_degrees: Array,
    laws: Laws = FITTED,
    heat: Heat = HEAT[Texture.LOAM],
) -> tuple[Estimates, States]:
    """Estimates of each day at each site, and the states after the last. ValueError where shapes differ."""
    shape = weather.low_c.shape
    if weather.high_c.shape != shape or weather.rain_mm.shape != shape or len(days_of_year) != shape[0]:
        raise ValueError(f"weather of shape {shape} with {len(days_of_year)} days: give each day once")
    found = Estimates(np.empty(shape), np.empty(shape), np.empty(shape))
    courses = {int(day): daily_course(latitude_degrees, int(day)) for day in np.unique(days_of_year)}
    for n, day_of_year in enumerate(days_of_year):
        states, looks = one_day(states, weather.on(n), courses[int(day_of_year)], laws, heat)
        found.at_10_cm[n], found.sd[n] = _estimate(looks, laws)
        found.at_2_to_5_cm[n] = found.at_10_cm[n] + looks.inputs["top_minus_column"]
    return found, states


def one_day(
    before: States, today: Weather, course: DailyCourse, laws: Laws, heat: Heat
) -> tuple[States, DayLooks]:
    """The states after one day, and what the correction and the spread look at."""
    low, high, rain = today.low_c, today.high_c, today.rain_mm
    sun = course.radiation_mj_m2
    air, range_c = (low + high) / 2, np.maximum(0.0, high - low)
    mean_range = _running(before.mean_range_c, range_c, laws.prior_range_days + before.days_seen)
    range_clear = np.sqrt(range_c / np.maximum(mean_range, 0.1))
    mean_wind, winds_seen, log_wind = _wind(before, today.wind_m_s, laws)
    windy = winds_seen >= laws.windy_after
    share, clear = _clearness(today, course, range_clear, windy, laws)
    topsoil_mm = topsoil_after_mm(before.topsoil_mm, rain, evaporation_mm(low, high, sun))
    filled = topsoil_mm / TOPSOIL_MM
    surface = _surface(windy, laws)
    film = surface.film(clear, log_wind)
    air_c = course.air_c(_or(before.high_c, high), low, high)
    outside_c = surface.outside_c(air_c, share * sun * MJ_TO_W * course.sun, clear, film)
    equation = column(heat.conductivity(filled), heat.capacity(filled), film)
    layers, means = column_day(equation, before.layers_c, outside_c)
    after = States(
        days_seen=before.days_seen + 1,
        layers_c=layers,
        mean_range_c=mean_range,
        mean_wind_m_s=mean_wind,
        winds_seen=winds_seen,
        topsoil_mm=topsoil_mm,
        air_c=air,
        air_slow_c=_toward(_or(before.air_slow_c, air), air, SLOW),
        high_c=high,
        clear=clear,
        radiation_slow=_toward(before.radiation_slow, sun, SLOW),
        radiation_season=_toward(before.radiation_season, sun, SEASON),
    )
    inputs = {
        "column": means[AT_10_CM],
        "top_minus_column": means[AT_2_TO_5_CM] - means[AT_10_CM],
        "air_minus_slow": air - after.air_slow_c,
        "air_change": air - _or(before.air_c, air),
        "clear": clear,
        "clear_before": _or(before.clear, clear),
        "topsoil_filled": filled,
        "log_rain": np.log1p(rain),
        "radiation": sun,
        "radiation_minus_slow": sun - after.radiation_slow,
        "range_clear": range_clear,
        "log_wind": log_wind,
        "rise": np.minimum(np.maximum((sun - after.radiation_season) / RISE_MJ_M2, 0.0), 1.0) ** 2,
        "air_minus_column": air - means[AT_10_CM],
    }
    return after, DayLooks(inputs, windy)


def _clearness(
    today: Weather, course: DailyCourse, range_clear: Array, windy: NDArray[np.bool_], laws: Laws
) -> tuple[Array, Array]:
    """Share of sun, and clearness on the scale of the range; what is measured counts at windy sites."""
    share = share_of_sun(laws.clearness, range_clear, today.rain_mm)
    if not windy.any():
        return share, range_clear
    outer, length_h = course.radiation_mj_m2, course.day_length_h
    told = measured_share(laws.clearness, share, outer, length_h, today.sun_h, today.radiation_mj_m2)
    clear = np.where(windy, 1 + (told - CLEAR_SHARE) / CLEAR_SLOPE, range_clear)
    return np.where(windy, told, share), clear


def _wind(before: States, wind_m_s: Array | None, laws: Laws) -> tuple[Array, Array, Array]:
    """Mean wind so far, days of it, and ln((wind + 1) / 6); a missing day counts as the site's mean."""
    mean, seen, today = before.mean_wind_m_s, before.winds_seen, before.mean_wind_m_s
    if wind_m_s is not None:
        known = ~np.isnan(wind_m_s)
        running = _running(mean, np.where(known, wind_m_s, mean), laws.prior_wind_days + seen)
        mean = np.where(known, running, mean)
        seen, today = seen + known, np.where(known, wind_m_s, mean)
    return mean, seen, np.log((today + 1) / 6)


def _surface(windy: NDArray[np.bool_], laws: Laws) -> Surface:
    if not windy.any() or laws.plain is laws.windy:
        return laws.plain.surface
    pairs = (
        (getattr(laws.windy.surface, field.name), getattr(laws.plain.surface, field.name))
        for field in fields(Surface)
    )
    return Surface(*(np.where(windy, this, that) for this, that in pairs))


def _estimate(looks: DayLooks, laws: Laws) -> tuple[Array, Array]:
    """Mean at 10 cm and its spread by the form that holds at each site."""
    if looks.windy.all():
        return _by_form(looks, laws.windy)
    mean, sd = _by_form(looks, laws.plain)
    if not looks.windy.any():
        return mean, sd
    windy_mean, windy_sd = _by_form(looks, laws.windy)
    return np.where(looks.windy, windy_mean, mean), np.where(looks.windy, windy_sd, sd)


def _by_form(looks: DayLooks, form: Form) -> tuple[Array, Array]:
    inputs = looks.inputs
    mean = inputs["column"] + form.rise_c * inputs["rise"]
    if form.correction is not None:
        mean = mean + form.correction.added_c(inputs)
    return mean, np.full_like(mean, np.nan) if form.spread is None else form.spread.sd_c(inputs)


def _running(mean: Array, value: Array, weight: Array) -> Array:
    return mean + (value - mean) / (weight + 1)


def _toward(slow: Array, now: Array, share: float) -> Array:
    return slow + share * (now - slow)


def _or(before: Array, now: Array) -> Array:
    """The value of the day before; on a first day its own."""
    return np.where(np.isnan(before), now, before)
