"""Visits, and every revision they ever had."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from functools import lru_cache
from typing import Any

from sqlalchemy import ColumnElement, Connection, insert, select

from models.errors import NotFound
from models.facts.season import Season, Span
from models.facts.work import OPEN_STATES, ProgrammeState, Visit, VisitKind, VisitState
from models.store.writing import table_of, upsert
from models.tables.work import ProgrammeRow, VisitChangeRow, VisitRow


@dataclass(frozen=True, slots=True)
class VisitChange:
    """One revision of a visit, as it was decided then."""

    revision: int
    state: VisitState
    day: date | None
    reason: str
    changed_at: datetime


def load_visits(
    connection: Connection,
    *,
    open_only: bool = False,
    programme_keys: Iterable[str] | None = None,
    day_from: date | None = None,
) -> tuple[Visit, ...]:
    """Visits in order of key; `day_from` leaves out those without a day, or with an earlier one."""
    conditions: list[ColumnElement[bool]] = []
    if open_only:
        conditions.append(VisitRow.state.in_(OPEN_STATES))
    if programme_keys is not None:
        conditions.append(VisitRow.programme_key.in_(tuple(programme_keys)))
    if day_from is not None:
        conditions.append(VisitRow.day >= day_from)
    return _load(connection, conditions)


def load_running_visits(connection: Connection) -> tuple[Visit, ...]:
    """All visits, open and ended, of the programmes that are active, in order of key."""
    active = select(ProgrammeRow.key).where(ProgrammeRow.state == ProgrammeState.ACTIVE)
    return _load(connection, [VisitRow.programme_key.in_(active)])


def find_visit(connection: Connection, key: str) -> Visit:
    found = _load(connection, [VisitRow.key == key])
    if not found:
        raise NotFound("visit", key, "take its key from the season page or the calendar")
    return found[0]


def save_visits(connection: Connection, visits: Sequence[Visit]) -> None:
    """Save new or changed visits and note each revision in the record of changes.

    A key may come more than once, in order of revisions. A revision is written once only: the same
    one again is refused by the database (IntegrityError), for a change without a new revision is a fault.
    """
    if not visits:
        return
    upsert(connection, VisitRow, [_row(visit) for visit in visits])
    connection.execute(insert(table_of(VisitChangeRow)), [_change_row(visit) for visit in visits])


def load_changes(connection: Connection, visit_key: str) -> tuple[VisitChange, ...]:
    """Every revision of a visit, oldest first; nothing for a key that is not known."""
    table = table_of(VisitChangeRow)
    rows = connection.execute(select(table).where(table.c.visit_key == visit_key).order_by(table.c.revision))
    return tuple(
        VisitChange(row.revision, VisitState(row.state), row.day, row.reason, row.changed_at) for row in rows
    )


def last_days(connection: Connection, visit_keys: Iterable[str]) -> dict[str, date]:
    """The last day that each of these visits was ever booked for; those that never had one are left out."""
    table = table_of(VisitChangeRow)
    rows = connection.execute(
        select(table.c.visit_key, table.c.day)
        .where(table.c.visit_key.in_(tuple(visit_keys)), table.c.day.is_not(None))
        .order_by(table.c.visit_key, table.c.revision)
    )
    return {row.visit_key: row.day for row in rows}


def _load(connection: Connection, conditions: Sequence[ColumnElement[bool]]) -> tuple[Visit, ...]:
    wanted = select(VisitRow.__table__).where(*conditions).order_by(VisitRow.key)
    return tuple(_visit(row) for row in connection.execute(wanted))


@lru_cache(maxsize=256)
def _season(key: str) -> Season:
    return Season.parse(key)


def _visit(row: Any) -> Visit:
    return Visit(
        key=row.key,
        programme_key=row.programme_key,
        lawn_key=row.lawn_key,
        season=_season(row.season_key),
        kind=VisitKind(row.kind),
        allowed=Span(row.allowed_first, row.allowed_last),
        minutes=row.minutes,
        packs=row.packs,
        state=VisitState(row.state),
        day=row.day,
        revision=row.revision,
        reason=row.reason,
        changed_at=row.changed_at,
    )


def _row(visit: Visit) -> dict[str, Any]:
    return {
        "key": visit.key,
        "programme_key": visit.programme_key,
        "lawn_key": visit.lawn_key,
        "season_key": visit.season.key,
        "kind": visit.kind,
        "allowed_first": visit.allowed.first,
        "allowed_last": visit.allowed.last,
        "minutes": visit.minutes,
        "packs": visit.packs,
        "state": visit.state,
        "day": visit.day,
        "revision": visit.revision,
        "reason": visit.reason,
        "changed_at": visit.changed_at,
    }


def _change_row(visit: Visit) -> dict[str, Any]:
    return {
        "visit_key": visit.key,
        "revision": visit.revision,
        "state": visit.state,
        "day": visit.day,
        "reason": visit.reason,
        "changed_at": visit.changed_at,
    }
