"""Soil days as estimated, and the estimator's kept state."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import asdict
from datetime import date, datetime
from typing import Any

from sqlalchemy import Connection, Row, select

from models.agronomy.soil import SoilState
from models.facts.weather import Provenance, SoilDay
from models.store.writing import upsert
from models.tables.weather import SoilDayRow, SoilStateRow

SOIL_BOOK = "soil-book"  # the ledger that guards soil days and states

DAYS = SoilDayRow.__table__
STATES = SoilStateRow.__table__


def load_soil_state(connection: Connection, site_key: str) -> tuple[SoilState, datetime] | None:
    """The kept state of a site, and the newest instant whose weather it has seen.

    It stands some days before the last soil day, where corrections no longer come.
    """
    row = connection.execute(
        select(STATES.c.state, STATES.c.seen_at).where(STATES.c.site_key == site_key)
    ).one_or_none()
    return None if row is None else (SoilState.from_json(row.state), row.seen_at)


def save_soil_state(connection: Connection, site_key: str, state: SoilState, seen_at: datetime) -> None:
    row = {
        "site_key": site_key,
        "last_day": state.last_day,
        "seen_at": seen_at,
        "state": state.to_json(),
    }
    upsert(connection, SoilStateRow, [row])


def save_soil_days(connection: Connection, site_key: str, days: Sequence[SoilDay]) -> None:
    upsert(connection, SoilDayRow, [{"site_key": site_key, **asdict(day)} for day in days])


def save_soil(
    connection: Connection, site_key: str, days: Sequence[SoilDay], state: SoilState, seen_at: datetime
) -> None:
    """Insert or replace the days, and keep the state."""
    save_soil_days(connection, site_key, days)
    save_soil_state(connection, site_key, state, seen_at)


def last_soil_day(connection: Connection, site_key: str) -> date | None:
    last: date | None = connection.scalar(
        select(DAYS.c.day).where(DAYS.c.site_key == site_key).order_by(DAYS.c.day.desc()).limit(1)
    )
    return last


def load_soil_days(
    connection: Connection, site_keys: Iterable[str], first: date, last: date
) -> dict[str, tuple[SoilDay, ...]]:
    """Soil days by site key, in order of days; a site without any has an empty tuple."""
    wanted = list(site_keys)
    rows = connection.execute(
        select(DAYS)
        .where(DAYS.c.site_key.in_(wanted), DAYS.c.day.between(first, last))
        .order_by(DAYS.c.site_key, DAYS.c.day)
    )
    found: dict[str, list[SoilDay]] = defaultdict(list)
    for row in rows:
        found[row.site_key].append(_soil_day(row))
    return {key: tuple(found[key]) for key in wanted}


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
    )
