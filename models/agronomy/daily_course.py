"""How air and sun run through a day, told from its minimum and maximum: eight steps of three hours."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from models.agronomy.sky import Array, sky_at

STEPS = 8  # 3 h; the research found nothing in finer ones
SOLAR_NOON_H = 12.5  # in UTC at 6 to 10 degrees west (from memory)
WARMEST_H = 14.5  # common practice


@dataclass(frozen=True, slots=True)
class DailyCourse:
    """What a latitude and a day of the year settle; arrays (sites,), from `before` on (steps, sites).

    Air in the middle of a step is before · yesterday's maximum + low · minimum + high · maximum: a cosine
    through them, with the minimum at sunrise, which after 14:30 heads for a night like the last. `sun` is
    a step's sun as a multiple of the day's mean, half a sine wave.
    """

    radiation_mj_m2: Array
    day_length_h: Array
    before: Array
    low: Array
    high: Array
    sun: Array

    def air_c(self, high_before_c: Array, low_c: Array, high_c: Array) -> Array:
        """Air in the middle of each step, (steps, sites)."""
        return self.before * high_before_c + self.low * low_c + self.high * high_c


def daily_course(latitude_degrees: Array, day_of_year: int) -> DailyCourse:
    """The course of one day at each latitude."""
    sky = sky_at(latitude_degrees, day_of_year)
    hours = ((np.arange(STEPS) + 0.5) * 24 / STEPS)[:, None]
    edges = (np.arange(STEPS + 1) * 24 / STEPS)[:, None]
    length_h = np.maximum(sky.day_length_h, 0.1)
    sunrise = SOLAR_NOON_H - sky.day_length_h / 2
    night = _eased((hours - (WARMEST_H - 24)) / (sunrise - (WARMEST_H - 24)))
    morning = _eased((hours - sunrise) / (WARMEST_H - sunrise))
    evening = _eased((hours - WARMEST_H) / (sunrise + 24 - WARMEST_H))
    before = np.where(hours < sunrise, 1 - night, 0.0)
    high = np.where(hours < sunrise, 0.0, np.where(hours < WARMEST_H, morning, 1 - evening))
    sun = np.diff(_eased((edges - (SOLAR_NOON_H - length_h / 2)) / length_h), axis=0) * STEPS
    return DailyCourse(sky.radiation_mj_m2, sky.day_length_h, before, 1 - before - high, high, sun)


def _eased(share: Array) -> Array:
    """From 0 to 1 along half a cosine."""
    eased: Array = (1 - np.cos(np.pi * np.clip(share, 0.0, 1.0))) / 2
    return eased
