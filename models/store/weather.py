"""Weather days: append-only, each correction a new revision known from an instant."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from sqlalchemy import Connection, Row, func, select

from models.facts.weather import KnownWeatherDay, Provenance, WeatherDay
from models.store.writing import insert_many_new
from models.tables.weather import WeatherDayRow

ROWS = WeatherDayRow.__table__
VALUES = ("temperature_min_c", "temperature_max_c", "rain_mm", "wind_m_s", "sun_h", "source")
USED = ("temperature_min_c", "temperature_max_c", "rain_mm")
TRUST = {Provenance.FORECAST: 0, Provenance.MODELLED: 1, Provenance.MEASURED: 2}

Slot = tuple[date, str]  # a day and a provenance


@dataclass(frozen=True, slots=True)
class WeatherNews:
    """Rows that became known after an instant: the first day they speak of, and when the last was known."""

    first_day: date
    known_at: datetime


def append_weather(
    connection: Connection, site_key: str, days: Sequence[WeatherDay], known_at: datetime
) -> int:
    """Append what differs from the newest revision of its day and provenance. Gives the rows appended."""
    if not days:
        return 0
    newest = _newest(connection, site_key, days)
    news = [_row(site_key, day, newest.get(_slot(day)), known_at) for day in days]
    return insert_many_new(connection, WeatherDayRow, [row for row in news if row is not None])


def load_weather(
    connection: Connection, site_key: str, first: date, last: date, known_at: datetime
) -> tuple[KnownWeatherDay, ...]:
    """The best record of each day as it was known at that instant, in order of days.

    Measured goes before modelled and that before forecast, each in its newest revision; only a measured
    day that lacks a minimum, maximum or rain yields to a modelled one that lacks less.
    """
    rows = connection.execute(
        select(ROWS)
        .where(ROWS.c.site_key == site_key, ROWS.c.day.between(first, last), ROWS.c.known_at <= known_at)
        .order_by(ROWS.c.day, ROWS.c.revision)
    )
    newest = {(row.day, row.provenance): row for row in rows}
    best: dict[date, Row[Any]] = {}
    for (day, _), row in newest.items():
        if day not in best or _rank(row) > _rank(best[day]):
            best[day] = row
    return tuple(_known(row) for row in best.values())


def last_weather_day(connection: Connection, site_key: str) -> date | None:
    """The last measured day; where nothing was ever measured, the last modelled one."""
    for provenance in (Provenance.MEASURED, Provenance.MODELLED):
        last: date | None = connection.scalar(
            select(ROWS.c.day)
            .where(ROWS.c.site_key == site_key, ROWS.c.provenance == provenance)
            .order_by(ROWS.c.day.desc())
            .limit(1)
        )
        if last is not None:
            return last
    return None


def news_since(
    connection: Connection, site_key: str, seen_at: datetime | None, upto: date, known_at: datetime
) -> WeatherNews | None:
    """What became known of days to `upto` after `seen_at` (None: ever), by `known_at`."""
    later = [] if seen_at is None else [ROWS.c.known_at > seen_at]
    row = connection.execute(
        select(func.min(ROWS.c.day), func.max(ROWS.c.known_at)).where(
            ROWS.c.site_key == site_key, ROWS.c.day <= upto, ROWS.c.known_at <= known_at, *later
        )
    ).one()
    return None if row[0] is None else WeatherNews(row[0], row[1])


def changed_since(connection: Connection, site_key: str, seen_at: datetime, upto: date) -> date | None:
    """The first day up to `upto` of which a row became known after `seen_at`."""
    first: date | None = connection.scalar(
        select(func.min(ROWS.c.day)).where(
            ROWS.c.site_key == site_key, ROWS.c.day <= upto, ROWS.c.known_at > seen_at
        )
    )
    return first


def _newest(connection: Connection, site_key: str, days: Iterable[WeatherDay]) -> dict[Slot, Row[Any]]:
    named = [day.day for day in days]
    rows = connection.execute(
        select(ROWS)
        .where(ROWS.c.site_key == site_key, ROWS.c.day.between(min(named), max(named)))
        .order_by(ROWS.c.revision)
    )
    return {(row.day, row.provenance): row for row in rows}


def _slot(day: WeatherDay) -> Slot:
    return day.day, day.provenance


def _row(
    site_key: str, day: WeatherDay, newest: Row[Any] | None, known_at: datetime
) -> dict[str, Any] | None:
    """The row to append; None where the newest revision says the same."""
    values = {name: getattr(day, name) for name in VALUES}
    if newest is not None and all(getattr(newest, name) == value for name, value in values.items()):
        return None
    return {
        "site_key": site_key,
        "day": day.day,
        "provenance": day.provenance,
        "revision": 1 if newest is None else newest.revision + 1,
        **values,
        "known_at": known_at,
    }


def _rank(row: Row[Any]) -> tuple[bool, int, int]:
    present = sum(getattr(row, name) is not None for name in USED)
    provenance = Provenance(row.provenance)
    return provenance is not Provenance.FORECAST, present, TRUST[provenance]


def _known(row: Row[Any]) -> KnownWeatherDay:
    weather = WeatherDay(
        day=row.day,
        temperature_min_c=row.temperature_min_c,
        temperature_max_c=row.temperature_max_c,
        rain_mm=row.rain_mm,
        wind_m_s=row.wind_m_s,
        sun_h=row.sun_h,
        provenance=Provenance(row.provenance),
        source=row.source,
    )
    return KnownWeatherDay(weather, row.revision, row.known_at)
