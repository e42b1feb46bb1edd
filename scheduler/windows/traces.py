"""What may come: one trace for each past year, begun from the soil as it is today. Arrays of past years.

Days are counted from a season's first calendar day, so that years lie above each other: offset 0 is that
day, the morning of `today` has offset `(today - first).days`, and what is known ends the day before.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from models.agronomy.moisture import available_water_mm
from models.facts.place import Texture
from models.facts.rules import BusinessRules
from models.facts.weather import SoilDay
from scheduler.windows.ground import drainage_mm_a_day

Numbers = NDArray[np.float64]
Flags = NDArray[np.bool_]

ANOMALY_DAYS = 7
# How a difference of the last week's soil fades: least squares of the day's anomaly, 1 to 59 days ahead, on
# the mean of the seven before, all days of the year, estimated soil of seven Irish stations 2006 to 2025
# (Met Éireann, see models/agronomy/fitted.py), 2026-11-25. The day ahead keeps 0.79, a week 0.41, a month
# 0.19. Not fitted on openings. Fitted on another estimator's soil they were 0.40, 43 and 2.5: the scores of
# `swardtide judge outlook` move by 0.03 days.
LASTING_SHARE = 0.44
LASTING_DAYS = 35.0
PASSING_DAYS = 2.8


@dataclass(frozen=True, slots=True, eq=False)
class DayArrays:
    """Soil days as arrays of years by offsets; NaN where a day is not known. °C and mm.

    The first column is `before` days ahead of the first calendar day.
    """

    years: tuple[int, ...]
    before: int
    soil_c: Numbers
    rain_mm: Numbers
    reference_et_mm: Numbers
    night_c: Numbers

    @property
    def columns(self) -> int:
        return int(self.soil_c.shape[1])

    def of(self, rows: Flags, first_offset: int) -> DayArrays:
        """Those rows, from `first_offset` on."""
        cut = slice(first_offset + self.before, None)
        kept = tuple(year for year, wanted in zip(self.years, rows, strict=True) if wanted)
        parts = (self.soil_c, self.rain_mm, self.reference_et_mm, self.night_c)
        return DayArrays(kept, -first_offset, *(part[rows, cut] for part in parts))


def align(soil_days: Sequence[SoilDay], firsts: Sequence[date], before: int, after: int) -> DayArrays:
    """Arrays of the days from `before` days ahead of each of `firsts` to the eve of `after` days later."""
    by_day = {soil.day: soil for soil in soil_days}
    values = np.full((4, len(firsts), before + after), np.nan)
    for row, first in enumerate(firsts):
        begin = first.toordinal() - before
        for column in range(before + after):
            soil = by_day.get(date.fromordinal(begin + column))
            if soil is not None:
                day = soil.mean_10cm_c, soil.rain_mm, soil.reference_et_mm, soil.temperature_min_c
                values[:, row, column] = day
    return DayArrays(tuple(first.year for first in firsts), before, *values)


@dataclass(frozen=True, slots=True, eq=False)
class Traces:
    """Whole seasons as they may come: what is known of this one, then each past year's course.

    `anomaly_c` is the last known week's soil against the same week of the past years (None: not known),
    `known_to` the offset of the last known day.
    """

    days: DayArrays
    anomaly_c: float | None
    known_to: int | None


def kept(lead_days: Numbers | float) -> Numbers:
    """The part of a week's anomaly that is left `lead_days` after its last day."""
    lead = np.asarray(lead_days, dtype=np.float64)
    lasting: Numbers = LASTING_SHARE * np.exp(-lead / LASTING_DAYS)
    return lasting + (1 - LASTING_SHARE) * np.exp(-lead / PASSING_DAYS)


def traces(past: DayArrays, present: DayArrays, first_offset: int) -> Traces:
    """A trace for each past year that is complete from `first_offset` on.

    `present` has one row, on the same offsets. A past year's own anomaly of the last known week is taken
    out of its soil and today's put in, both fading: for a process that fades like that, what is left of
    the year is a fair draw of what today does not tell. Rain and evaporation are the past year's.
    """
    known_to = _known_to(present)
    begin = first_offset if known_to is None else min(first_offset, known_to - ANOMALY_DAYS + 1)
    begin = max(begin, -past.before)
    complete: Flags = np.asarray(~np.isnan(past.soil_c[:, begin + past.before :]).any(axis=1))
    courses, now = past.of(complete, begin), present.of(np.array([True]), begin)
    soil_c, anomaly_c = courses.soil_c, None
    if known_to is not None and known_to - begin + 1 >= ANOMALY_DAYS and len(courses.years):
        soil_c, anomaly_c = _carried(courses, now, known_to)
    return Traces(_with_known(courses, now, soil_c).of(_all(courses), first_offset), anomaly_c, known_to)


def _known_to(present: DayArrays) -> int | None:
    """Offset of the last known day, where the whole week before it is known too."""
    known = np.flatnonzero(~np.isnan(present.soil_c[0]))
    if not len(known):
        return None
    last = int(known[-1])
    whole = last >= ANOMALY_DAYS - 1 and len(known[known > last - ANOMALY_DAYS]) == ANOMALY_DAYS
    return last - present.before if whole else None


def _carried(courses: DayArrays, now: DayArrays, known_to: int) -> tuple[Numbers, float]:
    end = known_to + 1 + courses.before
    week = slice(end - ANOMALY_DAYS, end)
    anomaly_c = now.soil_c[:, week].mean() - courses.soil_c[:, week].mean(axis=1)
    lead_days = np.arange(courses.columns) - (end - 1.0)
    fading = np.where(lead_days > 0, kept(np.maximum(lead_days, 0.0)), 0.0)
    return courses.soil_c + anomaly_c[:, None] * fading, float(anomaly_c.mean())


def _with_known(courses: DayArrays, now: DayArrays, soil_c: Numbers) -> DayArrays:
    pairs = (
        (now.soil_c, soil_c),
        (now.rain_mm, courses.rain_mm),
        (now.reference_et_mm, courses.reference_et_mm),
        (now.night_c, courses.night_c),
    )
    joined = (np.where(np.isnan(known), course, known) for known, course in pairs)
    return DayArrays(courses.years, courses.before, *joined)


def _all(days: DayArrays) -> Flags:
    return np.ones(len(days.years), dtype=np.bool_)


def trailing_means_c(soil_c: Numbers, days: int) -> Numbers:
    """Means over the `days` columns that end with each column; NaN for the first `days - 1`."""
    sums = np.cumsum(soil_c, axis=-1)
    means = np.full_like(soil_c, np.nan)
    means[..., days - 1 :] = sums[..., days - 1 :]
    means[..., days:] -= sums[..., :-days]
    return means / days


def stacked(parts: Sequence[DayArrays]) -> DayArrays:
    """The years of all parts, which share their columns, one below another."""
    years = tuple(year for part in parts for year in part.years)
    return DayArrays(
        years,
        parts[0].before,
        np.concatenate([part.soil_c for part in parts]),
        np.concatenate([part.rain_mm for part in parts]),
        np.concatenate([part.reference_et_mm for part in parts]),
        np.concatenate([part.night_c for part in parts]),
    )


def unfit_ground(days: DayArrays, textures: Sequence[Texture], rules: BusinessRules) -> Flags:
    """Whether the ground is unfit at the end of each day: textures by years by days.

    The account of `ground.grounds`, for many years and textures at once; a test holds the two equal.
    """
    by = rules.ground
    capacity_mm = np.array([[available_water_mm(texture, by.layer_m)] for texture in textures])
    deficit_mm, surplus_mm = _accounts(days, textures, capacity_mm, rules)
    dry = deficit_mm / capacity_mm >= by.dormant_fraction
    unfit: Flags = (dry | (surplus_mm >= by.waterlogged_mm)).transpose(1, 2, 0)
    return unfit | (days.soil_c <= by.frozen_soil_c) | (days.night_c <= by.frozen_air_c)


def _accounts(
    days: DayArrays, textures: Sequence[Texture], capacity_mm: Numbers, rules: BusinessRules
) -> tuple[Numbers, Numbers]:
    """Deficit and surplus at the end of each day, mm: days by textures by years."""
    shape = (days.columns, len(textures), len(days.years))
    least_mm = (1 - rules.ground.readily_available) * capacity_mm
    drains_mm = np.array([[drainage_mm_a_day(texture, rules.ground)] for texture in textures])
    demand_mm, rain_mm = (rules.watering.crop_coefficient * days.reference_et_mm).T, days.rain_mm.T
    deficits_mm, surpluses_mm = np.empty(shape), np.empty(shape)
    deficit_mm = surplus_mm = np.zeros(shape[1:])
    # In place, for this loop is most of what likely dates cost.
    for column in range(days.columns):
        after_mm = capacity_mm - deficit_mm
        after_mm /= least_mm
        np.minimum(after_mm, 1.0, out=after_mm)
        after_mm *= demand_mm[column]
        after_mm += deficit_mm
        after_mm -= rain_mm[column]
        deficit_mm = np.maximum(after_mm, 0.0, out=deficits_mm[column])
        np.minimum(deficit_mm, capacity_mm, out=deficit_mm)
        np.minimum(after_mm, 0.0, out=after_mm)
        surplus_mm = np.subtract(surplus_mm, after_mm, out=surpluses_mm[column])
        surplus_mm -= drains_mm
        np.maximum(surplus_mm, 0.0, out=surplus_mm)
    return deficits_mm, surpluses_mm
