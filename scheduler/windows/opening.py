"""The day the soil opens, weeks ahead: the ensemble behind likely dates, against a measured soil."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from models.agronomy.judging import SEARCH_FROM, SEARCH_TO, TRAILING_DAYS
from models.facts.weather import SoilDay
from scheduler.windows.traces import DayArrays, Numbers, align, traces, trailing_means_c

DAYS_BEFORE = 60  # ahead of 7 March: the week before 1 February lies in it
EXACT_C = 1e-9  # a sum of 10.0 °C seven times must not fall short of 10 °C by the last bit

# The error of a month's mean is this much of a day's standard deviation: 0.45 °C root mean square from March
# to May, where a day has 0.90 °C (a week's mean 0.63, two months' 0.37; seven Irish stations, 2013 on, Met
# Éireann; 2026-11-25). One course keeps one error throughout, so it is given the part that stays.
STAYING_SHARE = 0.50
STEPS = 5  # equally likely errors for each course: the middles of fifths of a normal distribution

Days = NDArray[np.int64]


@dataclass(frozen=True, slots=True, eq=False)
class OpeningAhead:
    """Days of opening, counted from 7 March; 101 stands for later than 15 June or never.

    `ahead` begins from today's soil, `climate` are the same past years without it, each with the
    estimate's own error. `from_years` is the number of past years.
    """

    ahead: Days
    climate: Days
    from_years: int


def opening_ahead(soil_days: Sequence[SoilDay], today: date, limit_c: float = 10.0) -> OpeningAhead:
    """What the soil of the days before `today` says, on its morning, of this spring's opening.

    `soil_days` may hold any days: those from `today` on, unless forecast elsewhere, are the caller's to
    leave out. Past years are those complete from the week before today's place in them to 15 June.
    """
    years = sorted({soil.day.year for soil in soil_days})
    after = (date(today.year, *SEARCH_TO) - date(today.year, *SEARCH_FROM)).days + 1
    firsts = [date(year, *SEARCH_FROM) for year in years if year < today.year]
    past = align(soil_days, firsts, DAYS_BEFORE, after)
    present = align(soil_days, [date(today.year, *SEARCH_FROM)], DAYS_BEFORE, after)
    found = traces(past, present, 1 - TRAILING_DAYS)
    alone = traces(past.of(_used(past, found.days.years), -DAYS_BEFORE), _nothing(present), 1 - TRAILING_DAYS)
    errors_c = _errors_c(_last_sd_c(soil_days, today))
    return OpeningAhead(
        _openings(found.days.soil_c, errors_c, limit_c),
        _openings(alone.days.soil_c, errors_c, limit_c),
        len(found.days.years),
    )


def soil_openings(soil_c: Numbers, limit_c: float = 10.0) -> Days:
    """The first day of each row whose trailing mean is at or above the limit; rows begin on 1 March.

    `judging.soil_opening` for many springs at once, as days from 7 March; none is one after the last.
    """
    warm = trailing_means_c(soil_c, TRAILING_DAYS)[..., TRAILING_DAYS - 1 :] >= limit_c - EXACT_C
    first: Days = np.where(warm.any(axis=-1), warm.argmax(axis=-1), warm.shape[-1])
    return first


def _openings(soil_c: Numbers, errors_c: Numbers, limit_c: float) -> Days:
    return soil_openings(soil_c[None] + errors_c[:, None, None], limit_c).ravel()


def _errors_c(sd_c: float) -> Numbers:
    normal = NormalDist()
    return STAYING_SHARE * sd_c * np.array([normal.inv_cdf((step + 0.5) / STEPS) for step in range(STEPS)])


def _last_sd_c(soil_days: Sequence[SoilDay], today: date) -> float:
    """Of the last day before `today`; it is what is said of a measured day in a record without holes."""
    return next((soil.sd_c for soil in reversed(soil_days) if soil.day < today), 0.0)


def _used(past: DayArrays, years: Sequence[int]) -> NDArray[np.bool_]:
    return np.array([year in years for year in past.years], dtype=np.bool_)


def _nothing(present: DayArrays) -> DayArrays:
    empty = np.full_like(present.soil_c, np.nan)
    return DayArrays(present.years, present.before, empty, empty, empty, empty)
