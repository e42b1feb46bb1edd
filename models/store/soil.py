"""Soil days as estimated, and the estimator's kept state."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass
from datetime import date, datetime
from typing import Any

from sqlalchemy import Connection, Row, bindparam, select

from models.agronomy.soil_state import SoilState
from models.facts.weather import Provenance, SoilDay
from models.store.weather import close_together
from models.store.writing import upsert
from models.tables.weather import SiteRow, SoilDayRow, SoilStateRow

SOIL_BOOK = "soil-book"  # the ledger that guards soil days and states

DAYS = SoilDayRow.__table__
STATES = SoilStateRow.__table__

# Built once: building such a statement costs as much as running it on a few rows.
DAYS_OF_SITES = (
    select(DAYS)
    .where(
        DAYS.c.site_key.in_(bindparam("keys", expanding=True)),
        DAYS.c.day.between(bindparam("first"), bindparam("last")),
    )
    .order_by(DAYS.c.site_key, DAYS.c.day)
)
LAST_DAYS = select(
    SiteRow.key,
    select(DAYS.c.day)
    .where(DAYS.c.site_key == SiteRow.key)
    .order_by(DAYS.c.day.desc())
    .limit(1)
    .scalar_subquery()
    .label("day"),
)


@dataclass(frozen=True, slots=True)
class KeptSoil:
    """The estimator's state some days before the last soil day, where corrections seldom come.

    Weather known by `seen_at` is in it; `fingerprint` tells the place and the laws it was reached by.
    `latest` is the state of the newest day with its own temperatures: nothing but a correction changes it.
    """

    state: SoilState
    seen_at: datetime
    fingerprint: str
    latest: SoilState | None = None


def load_soil_states(connection: Connection, fingerprints: Mapping[str, str]) -> dict[str, KeptSoil]:
    """Kept states by site key, of sites whose fingerprint is the one named: no other is even parsed."""
    return {
        row.site_key: KeptSoil(
            SoilState.from_json(row.state),
            row.seen_at,
            row.fingerprint,
            None if row.latest is None else SoilState.from_json(row.latest),
        )
        for row in connection.execute(select(STATES))
        if fingerprints.get(row.site_key) == row.fingerprint
    }


def save_soil_states(connection: Connection, kept: Mapping[str, KeptSoil]) -> None:
    rows = [
        {
            "site_key": key,
            "last_day": one.state.last_day,
            "seen_at": one.seen_at,
            "state": one.state.to_json(),
            "fingerprint": one.fingerprint,
            "latest": None if one.latest is None else one.latest.to_json(),
        }
        for key, one in kept.items()
    ]
    upsert(connection, SoilStateRow, rows)


def save_soil_days(connection: Connection, days: Mapping[str, Sequence[SoilDay]]) -> None:
    """Insert or replace the days of many sites at once."""
    rows = [{"site_key": key, **asdict(day)} for key, its in days.items() for day in its]
    upsert(connection, SoilDayRow, rows)


def save_soil(
    connection: Connection,
    site_key: str,
    days: Sequence[SoilDay],
    state: SoilState,
    seen_at: datetime,
    fingerprint: str = "",
) -> None:
    """Insert or replace the days of one site, and keep its state."""
    save_soil_days(connection, {site_key: days})
    save_soil_states(connection, {site_key: KeptSoil(state, seen_at, fingerprint)})


def last_soil_days(connection: Connection) -> dict[str, date]:
    """The last estimated day of every site that has one. One query, an index look-up a site."""
    rows = connection.execute(LAST_DAYS)
    return {row.key: row.day for row in rows if row.day is not None}


def load_soil_days(
    connection: Connection, site_keys: Iterable[str], first: date, last: date
) -> dict[str, tuple[SoilDay, ...]]:
    """Soil days by site key, in order of days; a site without any has an empty tuple."""
    return load_soil_days_of(connection, dict.fromkeys(site_keys, first), last)


def load_soil_days_of(
    connection: Connection, first_days: Mapping[str, date], last: date
) -> dict[str, tuple[SoilDay, ...]]:
    """The same of many sites, each from its own first day: one query for close first days."""
    found: dict[str, list[SoilDay]] = defaultdict(list)
    for keys, first in close_together(first_days):
        rows = connection.execute(DAYS_OF_SITES, {"keys": keys, "first": first, "last": last})
        for row in rows:
            if row.day >= first_days[row.site_key]:
                found[row.site_key].append(_soil_day(row))
    return {key: tuple(found[key]) for key in first_days}


def _soil_day(row: Row[Any]) -> SoilDay:
    return SoilDay(
        day=row.day,
        mean_10cm_c=row.mean_10cm_c,
        sd_c=row.sd_c,
        reference_et_mm=row.reference_et_mm,
        rain_mm=row.rain_mm,
        temperature_min_c=row.temperature_min_c,
        provenance=Provenance(row.provenance),
        weather_revision=row.weather_revision,
        gap_days=row.gap_days,
        rain_gap_days=row.rain_gap_days,
    )
