"""Probe readings, and what a lawn's own soil rests on. Readings are added once and never changed."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable
from dataclasses import asdict, dataclass
from datetime import date, datetime, timedelta
from typing import Any

from sqlalchemy import Connection, or_, select

from models.agronomy.readings import BACK_DAYS
from models.facts.place import Shade, Texture
from models.facts.readings import LawnSoil, OwnGround, Reading
from models.facts.season import Span
from models.facts.weather import Provenance, SoilDay
from models.store.soil import load_soil_days
from models.store.writing import insert_new
from models.tables.people import LawnRow
from models.tables.readings import LawnReadingRow
from models.tables.weather import WeatherDayRow

READINGS = LawnReadingRow.__table__
WEATHER = WeatherDayRow.__table__
OLDEST = timedelta(days=5 * 365)  # older readings count no more: turf and trees change (engineering choice)

SiteDays = dict[str, set[date]]
Ranges = dict[str, dict[date, float]]


def add_reading(connection: Connection, reading: Reading) -> int:
    """Gives 1, or 0 where that lawn has a reading of that instant already (and it stays as it was)."""
    return insert_new(connection, LawnReadingRow, [asdict(reading)])


def find_reading(connection: Connection, lawn_key: str, taken_at: datetime) -> Reading | None:
    chosen = select(READINGS).where(READINGS.c.lawn_key == lawn_key, READINGS.c.taken_at == taken_at)
    row = connection.execute(chosen).one_or_none()
    return None if row is None else _reading(row)


def load_readings(connection: Connection, lawn_key: str) -> tuple[Reading, ...]:
    """All of one lawn, in order of their instants."""
    chosen = select(READINGS).where(READINGS.c.lawn_key == lawn_key).order_by(READINGS.c.taken_at)
    return tuple(_reading(row) for row in connection.execute(chosen))


def load_own_grounds(
    connection: Connection, now: datetime, lawn_keys: Collection[str] | None = None
) -> dict[str, OwnGround]:
    """By lawn, of those that differ from their site: by readings known at `now`, or by shade.

    A handful of queries, however many lawns there are; one where there is no such lawn. `lawn_keys`
    chooses among them (None: all).
    """
    lawns = {lawn.key: lawn for lawn in _lawns(connection, now) if lawn_keys is None or lawn.key in lawn_keys}
    if not lawns:
        return {}
    readings = _known_readings(connection, now)
    days: SiteDays = defaultdict(set)
    for lawn in lawns.values():
        days[lawn.site_key].update(reading.day for reading in readings[lawn.key])
    past, ranges_c = _soil_around(connection, days), _ranges(connection, days, now)
    return {
        lawn.key: OwnGround(
            lawn.soil, tuple(readings[lawn.key]), past.get(lawn.site_key, ()), ranges_c[lawn.site_key]
        )
        for lawn in lawns.values()
    }


@dataclass(frozen=True, slots=True)
class _Lawn:
    key: str
    site_key: str
    soil: LawnSoil


def _lawns(connection: Connection, now: datetime) -> Iterable[_Lawn]:
    probed = select(READINGS.c.lawn_key).where(READINGS.c.recorded_at <= now)
    chosen = (
        select(LawnRow.key, LawnRow.site_key, LawnRow.texture, LawnRow.longitude, LawnRow.shade)
        .where(or_(LawnRow.key.in_(probed), LawnRow.shade != Shade.OPEN))
        .order_by(LawnRow.key)
    )
    for row in connection.execute(chosen):
        soil = LawnSoil(Texture(row.texture), row.longitude, Shade(row.shade))
        yield _Lawn(row.key, row.site_key, soil)


def _known_readings(connection: Connection, now: datetime) -> dict[str, list[Reading]]:
    chosen = (
        select(READINGS)
        .where(READINGS.c.recorded_at <= now, READINGS.c.taken_at >= now - OLDEST)
        .order_by(READINGS.c.lawn_key, READINGS.c.taken_at)
    )
    found: dict[str, list[Reading]] = defaultdict(list)
    for row in connection.execute(chosen):
        found[row.lawn_key].append(_reading(row))
    return found


def _soil_around(connection: Connection, days: SiteDays) -> dict[str, tuple[SoilDay, ...]]:
    """Soil days that the readings' corrections look back on: a query for each cluster of days."""
    found: dict[str, list[SoilDay]] = defaultdict(list)
    for span in _clusters({day for its in days.values() for day in its}):
        sites = [site for site, its in days.items() if any(day in span for day in its)]
        for site, soil in load_soil_days(connection, sites, span.first, span.last).items():
            found[site].extend(soil)
    return {site: tuple(soil) for site, soil in found.items()}


def _clusters(days: Collection[date]) -> list[Span]:
    """Spans that hold the days and those that each looks back on; such as touch are one."""
    spans: list[Span] = []
    for day in sorted(days):
        first = day - timedelta(days=BACK_DAYS)
        if spans and first <= spans[-1].last + timedelta(days=1):
            spans[-1] = Span(spans[-1].first, day)
        else:
            spans.append(Span(first, day))
    return spans


def _ranges(connection: Connection, days: SiteDays, now: datetime) -> Ranges:
    """The air's maximum less its minimum, by the best record of the day known at `now`; no forecast's."""
    wanted = {day for its in days.values() for day in its}
    rows = connection.execute(
        select(WEATHER)
        .where(
            WEATHER.c.site_key.in_([site for site, its in days.items() if its]),
            WEATHER.c.day.in_(wanted),
            WEATHER.c.known_at <= now,
            WEATHER.c.provenance != Provenance.FORECAST,
            WEATHER.c.temperature_min_c.is_not(None),
            WEATHER.c.temperature_max_c.is_not(None),
        )
        # Modelled before measured, old before new: the last word on a day is the best one.
        .order_by(WEATHER.c.provenance.desc(), WEATHER.c.revision)
    )
    found: Ranges = {site: {} for site in days}
    for row in rows:
        found[row.site_key][row.day] = row.temperature_max_c - row.temperature_min_c
    return found


def _reading(row: Any) -> Reading:
    return Reading(
        lawn_key=row.lawn_key,
        taken_at=row.taken_at,
        day=row.day,
        depth_cm=row.depth_cm,
        value_c=row.value_c,
        in_sun=row.in_sun,
        recorded_at=row.recorded_at,
        hour_sd_h=row.hour_sd_h,
    )
