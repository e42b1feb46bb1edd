"""Probe readings: soil temperatures measured at a lawn, and what of the lawn bears on them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime

from models.facts.place import Shade, Texture
from models.facts.weather import SoilDay


@dataclass(frozen=True, slots=True)
class LawnSoil:
    """What of a lawn bears on its soil temperature. `longitude` in degrees, east is positive."""

    texture: Texture
    longitude: float
    shade: Shade = Shade.OPEN


@dataclass(frozen=True, slots=True)
class Reading:
    """A soil temperature measured with a probe at a lawn; lawn and `taken_at` are its identity.

    `day` is the lawn's local day of `taken_at`; `hour_sd_h` says how well the hour is known;
    `recorded_at` is when it became known: it counts for nothing that was decided before.
    """

    lawn_key: str
    taken_at: datetime
    day: date
    depth_cm: float
    value_c: float
    in_sun: bool
    recorded_at: datetime
    hour_sd_h: float = 0.25


@dataclass(frozen=True, slots=True)
class OwnGround:
    """What a lawn's own correction rests on, beside the soil days that it corrects.

    `past` are its site's soil days around the readings, in order; `ranges_c` the air's maximum less its
    minimum on their days, °C, where known.
    """

    lawn: LawnSoil
    readings: tuple[Reading, ...]
    past: tuple[SoilDay, ...]
    ranges_c: Mapping[date, float]
