"""Invented probe readings at an invented lawn, and the site's soil days they are held against."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from math import cos, pi

from models.facts.place import Texture
from models.facts.readings import LawnSoil, Reading
from models.facts.season import Span
from models.facts.weather import SoilDay
from tests.windows.soil import a_soil_day

OAT = LawnSoil(Texture.LOAM, longitude=-6.0)
FIRST, LAST = date(2027, 1, 1), date(2027, 12, 31)
RANGE_C = 8.0


def a_year() -> tuple[SoilDay, ...]:
    """A site's year: warm and bright in July, and every few days a little off the smooth course."""
    return tuple(_day(day) for day in Span(FIRST, LAST).days())


def _day(day: date) -> SoilDay:
    season = cos(2 * pi * (day.timetuple().tm_yday - 200) / 365)
    spell_c = 1.5 * cos(2 * pi * day.timetuple().tm_yday / 17)
    return a_soil_day(day, 10 + 6 * season + spell_c, reference_et_mm=1.7 + 1.5 * season)


def a_reading(day: date, value_c: float, hour: int = 16, **more: object) -> Reading:
    """At 10 cm in the open; by default at an hour when 10 cm in loam is near the day's warmest."""
    taken_at = datetime(day.year, day.month, day.day, hour, tzinfo=UTC)
    plain = Reading("oat/lawn", taken_at, day, 10.0, value_c, True, recorded_at=taken_at + timedelta(hours=2))
    return replace(plain, **more)  # type: ignore[arg-type]


def ranges() -> dict[date, float]:
    return dict.fromkeys(Span(FIRST, LAST).days(), RANGE_C)
