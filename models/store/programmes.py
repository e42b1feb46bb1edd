"""Programmes: which lawns are owed what, and how a programme ended."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass
from typing import Any

from sqlalchemy import Connection, bindparam, select, update

from models.facts.season import Pest, Species
from models.facts.work import Programme, ProgrammeState
from models.store.writing import insert_new, table_of
from models.tables.work import ProgrammeRow


@dataclass(frozen=True, slots=True)
class Ending:
    """How a programme ended: `state` FINISHED or ENDED, `reason` in a sentence."""

    programme_key: str
    state: ProgrammeState
    reason: str


def add_programme(connection: Connection, programme: Programme) -> int:
    """Insert a programme whose key is new; gives 1, or 0 where it was there already."""
    return insert_new(connection, ProgrammeRow, [asdict(programme)])


def load_programmes(
    connection: Connection, states: Iterable[ProgrammeState] = (ProgrammeState.ACTIVE,)
) -> tuple[Programme, ...]:
    """The programmes in the given states, in order of key."""
    wanted = select(ProgrammeRow.__table__).where(ProgrammeRow.state.in_(tuple(states)))
    return tuple(_programme(row) for row in connection.execute(wanted.order_by(ProgrammeRow.key)))


def end_programme(connection: Connection, key: str, state: ProgrammeState, reason: str) -> bool:
    """End an active programme; gives whether it was active (an ended one keeps its ending)."""
    ended = connection.execute(
        update(ProgrammeRow)
        .where(ProgrammeRow.key == key, ProgrammeRow.state == ProgrammeState.ACTIVE)
        .values(state=state, reason=reason)
    )
    return ended.rowcount == 1


def end_programmes(connection: Connection, endings: Sequence[Ending]) -> None:
    """End many in one go; those that are not active keep the ending they have."""
    if not endings:
        return
    table = table_of(ProgrammeRow)
    statement = (
        update(table)
        .where(table.c.key == bindparam("programme"), table.c.state == ProgrammeState.ACTIVE.value)
        .values(state=bindparam("ending"), reason=bindparam("why"))
    )
    rows = [{"programme": e.programme_key, "ending": e.state, "why": e.reason} for e in endings]
    connection.execute(statement, rows)


def _programme(row: Any) -> Programme:
    return Programme(
        key=row.key,
        lawn_key=row.lawn_key,
        pest=Pest(row.pest),
        species=Species(row.species),
        starts_on=row.starts_on,
        years=row.years,
        state=ProgrammeState(row.state),
        reason=row.reason,
    )
