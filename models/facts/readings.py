"""Probe readings: soil temperatures measured at a lawn, and what of the lawn bears on them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum

from models.facts.place import Texture


class Shade(StrEnum):
    """How much of the day's sun trees and buildings keep from a lawn."""

    OPEN = "open"
    PARTLY = "partly shaded"
    SHADED = "shaded"


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
