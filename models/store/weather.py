"""Weather days: append-only, each correction a new revision known from an instant."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from typing import Any

from sqlalchemy import Connection, Row, bindparam, func, select

from models.facts.weather import KnownWeatherDay, Provenance, WeatherDay
from models.store.writing import insert_many_new
from models.tables.weather import SiteRow, SoilStateRow, WeatherDayRow

ROWS = WeatherDayRow.__table__
STATES = SoilStateRow.__table__
VALUES = ("temperature_min_c", "temperature_max_c", "rain_mm", "wind_m_s", "sun_h", "source")
USED = ("temperature_min_c", "temperature_max_c", "rain_mm")
TRUST = {Provenance.FORECAST: 0, Provenance.MODELLED: 1, Provenance.MEASURED: 2}

# Spans that begin this close together are read in one query (engineering choice).
CLOSE = timedelta(days=60)

# Built once: building such a statement costs as much as running it on a few rows.
WORDS = (
    select(ROWS)
    .where(
        ROWS.c.site_key.in_(bindparam("keys", expanding=True)),
        ROWS.c.day.between(bindparam("first"), bindparam("last")),
        ROWS.c.known_at <= bindparam("by"),
    )
    .order_by(ROWS.c.site_key, ROWS.c.day, ROWS.c.revision)
)
# Days are sorted out in the aggregate: as a condition they would win the wrong index.
OF_DAYS = ROWS.c.day <= bindparam("upto")
NEWS = (
    select(STATES.c.site_key, func.min(ROWS.c.day).filter(OF_DAYS), func.max(ROWS.c.known_at).filter(OF_DAYS))
    .join_from(STATES, ROWS, ROWS.c.site_key == STATES.c.site_key)
    .where(ROWS.c.known_at > STATES.c.seen_at, ROWS.c.known_at <= bindparam("by"))
    .group_by(STATES.c.site_key)
)
LAST_DAYS = select(
    SiteRow.key,
    func.coalesce(
        *(
            select(ROWS.c.day)
            .where(ROWS.c.site_key == SiteRow.key, ROWS.c.provenance == provenance)
            .order_by(ROWS.c.day.desc())
            .limit(1)
            .scalar_subquery()
            for provenance in (Provenance.MEASURED, Provenance.MODELLED)
        )
    ).label("day"),
)
EVER = datetime.max.replace(tzinfo=UTC)

Slot = tuple[str, date, str]  # a site's key, a day and a provenance
Words = Mapping[Slot, KnownWeatherDay]


@dataclass(frozen=True, slots=True)
class WeatherNews:
    """Rows that became known after an instant: the first day they speak of, and when the last was known."""

    first_day: date
    known_at: datetime


def append_weather(
    connection: Connection, site_key: str, days: Sequence[WeatherDay], known_at: datetime
) -> int:
    """Append what differs from the newest revision of its day and provenance. Gives the rows appended."""
    by_site = {site_key: days}
    return len(append_words(connection, newest_words(connection, by_site), by_site, known_at)[site_key])


def newest_words(connection: Connection, days: Mapping[str, Sequence[WeatherDay]]) -> Words:
    """The newest revisions that stand in the spans of `days` (by site), in one query for close spans."""
    spans = {key: min(day.day for day in its) for key, its in days.items() if its}
    last = max((day.day for its in days.values() for day in its), default=date.min)
    words: dict[Slot, KnownWeatherDay] = {}
    for keys, first in close_together(spans):
        rows = connection.execute(WORDS, {"keys": keys, "first": first, "last": last, "by": EVER})
        newest = {(row.site_key, row.day, row.provenance): row for row in rows}
        words.update((slot, _known(row)) for slot, row in newest.items())
    return words


def append_words(
    connection: Connection, newest: Words, days: Mapping[str, Sequence[WeatherDay]], known_at: datetime
) -> dict[str, tuple[WeatherDay, ...]]:
    """Append what differs from `newest`, for all sites at once. Gives what was appended, by site."""
    appended: dict[str, tuple[WeatherDay, ...]] = {}
    rows: list[dict[str, Any]] = []
    for key, its in days.items():
        words = [(day, newest.get((key, day.day, day.provenance))) for day in its]
        news = [(day, word) for day, word in words if word is None or word.weather != day]
        appended[key] = tuple(day for day, _ in news)
        rows.extend(_row(key, day, word, known_at) for day, word in news)
    insert_many_new(connection, WeatherDayRow, rows)
    return appended


def load_weather(
    connection: Connection, site_key: str, first: date, last: date, known_at: datetime
) -> tuple[KnownWeatherDay, ...]:
    """The best record of each day as it was known at that instant, in order of days.

    Measured goes before modelled and that before forecast, each in its newest revision; only a measured
    day that lacks a minimum, maximum or rain yields to a modelled one that lacks less.
    """
    return load_weather_of(connection, {site_key: first}, last, known_at)[site_key]


def load_weather_of(
    connection: Connection, first_days: Mapping[str, date], last: date, known_at: datetime
) -> dict[str, tuple[KnownWeatherDay, ...]]:
    """`load_weather` of many sites, each from its own first day: one query for close first days."""
    found: dict[str, tuple[KnownWeatherDay, ...]] = dict.fromkeys(first_days, ())
    for keys, first in close_together(first_days):
        rows = connection.execute(WORDS, {"keys": keys, "first": first, "last": last, "by": known_at})
        by_site: dict[str, list[Row[Any]]] = defaultdict(list)
        for row in rows:
            if row.day >= first_days[row.site_key]:
                by_site[row.site_key].append(row)
        found.update((key, _best(its)) for key, its in by_site.items())
    return found


def close_together(first_days: Mapping[str, date]) -> list[tuple[list[str], date]]:
    """Sites in groups whose first days lie close together, each group with its earliest."""
    groups: list[tuple[list[str], date]] = []
    for key, first in sorted(first_days.items(), key=lambda one: (one[1], one[0])):
        if groups and first - groups[-1][1] <= CLOSE:
            groups[-1][0].append(key)
        else:
            groups.append(([key], first))
    return groups


def last_weather_day(connection: Connection, site_key: str) -> date | None:
    """The last measured day; where nothing was ever measured, the last modelled one."""
    return last_weather_days(connection).get(site_key)


def last_weather_days(connection: Connection) -> dict[str, date]:
    """`last_weather_day` of every site that has one. One query, an index look-up a site."""
    rows = connection.execute(LAST_DAYS)
    return {row.key: row.day for row in rows if row.day is not None}


def news_since_seen(connection: Connection, upto: date, known_at: datetime) -> dict[str, WeatherNews]:
    """What became known of days to `upto`, by `known_at`, that the kept soil states have not seen.

    A site without a kept state is not looked at.
    """
    rows = connection.execute(NEWS, {"upto": upto, "by": known_at})
    return {key: WeatherNews(first_day, last_known) for key, first_day, last_known in rows if first_day}


def all_news(
    connection: Connection, site_keys: Iterable[str], upto: date, known_at: datetime
) -> dict[str, WeatherNews]:
    """The same for sites to which everything is news."""
    rows = connection.execute(
        select(ROWS.c.site_key, func.min(ROWS.c.day), func.max(ROWS.c.known_at))
        .where(ROWS.c.site_key.in_(list(site_keys)), ROWS.c.day <= upto, ROWS.c.known_at <= known_at)
        .group_by(ROWS.c.site_key)
    )
    return {key: WeatherNews(first_day, last_known) for key, first_day, last_known in rows}


def _best(rows: Iterable[Row[Any]]) -> tuple[KnownWeatherDay, ...]:
    """Of one site's rows in order of days and revisions."""
    newest = {(row.day, row.provenance): row for row in rows}
    best: dict[date, Row[Any]] = {}
    for (day, _), row in newest.items():
        if day not in best or _rank(row) > _rank(best[day]):
            best[day] = row
    return tuple(_known(row) for row in best.values())


def _row(
    site_key: str, day: WeatherDay, newest: KnownWeatherDay | None, known_at: datetime
) -> dict[str, Any]:
    return {
        "site_key": site_key,
        "day": day.day,
        "provenance": day.provenance,
        "revision": 1 if newest is None else newest.revision + 1,
        **{name: getattr(day, name) for name in VALUES},
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
