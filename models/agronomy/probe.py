"""What a probe's reading at some depth and hour says of the day's mean at 10 cm, and how surely. Pure.

The day's wave of warmth runs down from the surface: it shrinks by 1/e and lags by one radian with each
damping depth (de Vries 1963; Hillel 1982). A reading is taken back to the day's mean by that wave, and
what is not known of the wave makes the result uncertain.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from math import cos, exp, hypot, pi, sin, sqrt
from typing import Final

from models.facts.place import Texture
from models.facts.readings import LawnSoil, Reading
from models.units import SECONDS_PER_DAY

REFERENCE_DEPTH_CM = 10.0

# Thermal diffusivity at 0.2 m³ of water in a m³ of soil, m²/s: de Vries 1963, by Moene & van Dam 2014,
# table 2.2. Loam: the geometric mean of sand and clay (engineering choice).
DIFFUSIVITY_M2_S: Final[Mapping[Texture, float]] = {
    Texture.SAND: 0.99e-6,
    Texture.LOAM: sqrt(0.99e-6 * 0.40e-6),
    Texture.CLAY: 0.40e-6,
}


@dataclass(frozen=True, slots=True)
class ProbeErrors:
    """What is not known of a probe, a spot of turf and the day's wave. Engineering choices throughout."""

    probe_sd_c: float = 0.5  # the instrument and how it is read
    spot_sd_c: float = 0.3  # one spot against the lawn
    sunlit_share: float = 1.0  # swing of the turf's surface, as a share of the air's, in the sun ...
    shaded_share: float = 0.6  # ... and where the spot lies in the shade
    swing_error: float = 0.4  # of the swing, one standard deviation: clouds, length of grass
    peak_solar_hour: float = 13.5  # the surface is warmest between the highest sun and the warmest air
    peak_sd_h: float = 0.75
    shape_error: float = 0.1  # of the swing: the wave is no pure cosine
    depth_sd_cm: float = 1.0  # how deep the tip really was
    damping_error: float = 0.2  # of the damping depth: it grows as the soil is wetted (de Vries 1963)
    level_sd_c_per_cm: float = 0.06  # daily means differ with depth while the soil warms or cools
    usual_range_c: float = 8.0  # of air, where the day's own is not known
    unknown_range_error: float = 0.6


ERRORS = ProbeErrors()


@dataclass(frozen=True, slots=True)
class Observation:
    """A reading as a daily mean at 10 cm, with its standard deviation, °C."""

    reading: Reading
    mean_c: float
    sd_c: float


def damping_depth_cm(diffusivity_m2_s: float, period_s: float = SECONDS_PER_DAY) -> float:
    """Depth at which a wave of that period has shrunk to 1/e: sqrt(2 D / omega), in cm (Hillel 1982)."""
    return 100 * sqrt(diffusivity_m2_s * period_s / pi)


def solar_hour(instant: datetime, longitude: float) -> float:
    """Hours of mean solar time, 0 to 24; the equation of time (16 minutes at most) is left out."""
    hours = instant.hour + instant.minute / 60 + instant.second / 3600
    return (hours + longitude / 15) % 24


def observe(reading: Reading, lawn: LawnSoil, range_c: float | None, by: ProbeErrors = ERRORS) -> Observation:
    """The day's mean at 10 cm that a reading speaks for.

    `reading.taken_at` is UTC; `range_c` is the air's maximum less its minimum on that day, °C (None: not
    known, and less sure for it).
    """
    wave = _wave(reading, lawn, range_c, by)
    swing_error = by.swing_error if range_c is not None else by.unknown_range_error
    sd_c = hypot(
        by.probe_sd_c,
        by.spot_sd_c,
        by.level_sd_c_per_cm * (reading.depth_cm - REFERENCE_DEPTH_CM),
        swing_error * wave.above_mean_c,
        _hour_error(reading.hour_sd_h, by) * wave.swing_c * sin(wave.angle),
        by.shape_error * wave.swing_c,
        by.depth_sd_cm / wave.damping_cm * wave.swing_c,
        by.damping_error * reading.depth_cm / wave.damping_cm * wave.swing_c,
    )
    return Observation(reading, reading.value_c - wave.above_mean_c, sd_c)


@dataclass(frozen=True, slots=True)
class _Wave:
    """The day's wave at a reading's depth and hour: half its height, where in it the hour lies."""

    damping_cm: float
    swing_c: float
    angle: float

    @property
    def above_mean_c(self) -> float:
        return self.swing_c * cos(self.angle)


def _wave(reading: Reading, lawn: LawnSoil, range_c: float | None, by: ProbeErrors) -> _Wave:
    damping_cm = damping_depth_cm(DIFFUSIVITY_M2_S[lawn.texture])
    lag = reading.depth_cm / damping_cm
    swing_c = _surface_swing_c(reading, range_c, by) * exp(-lag)
    hours = solar_hour(reading.taken_at, lawn.longitude) - by.peak_solar_hour
    return _Wave(damping_cm, swing_c, 2 * pi * hours / 24 - lag)


def _surface_swing_c(reading: Reading, range_c: float | None, by: ProbeErrors) -> float:
    share = by.sunlit_share if reading.in_sun else by.shaded_share
    return share * (by.usual_range_c if range_c is None else max(0.0, range_c)) / 2


def _hour_error(hour_sd_h: float, by: ProbeErrors) -> float:
    """In radians of the day's wave; one radian is already as good as not knowing the hour."""
    return min(1.0, 2 * pi / 24 * hypot(by.peak_sd_h, hour_sd_h))
