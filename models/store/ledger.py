"""Revisions that guard a step's write, and marks of how far timed work has come."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection, select, update

from models.errors import StaleRevision
from models.store.writing import insert_new, upsert
from models.tables.service import LedgerRow, MarkRow

SEASON_BOOK = "season-book"  # clients, lawns, programmes, visits, counts, treatments, refusals, stock


@dataclass(frozen=True, slots=True)
class Mark:
    """`jobs_done` jobs of the run at `instant` have been done."""

    instant: datetime
    jobs_done: int


def revision_of(connection: Connection, name: str) -> int:
    """The present revision; 0 before the first change."""
    return connection.scalar(select(LedgerRow.revision).where(LedgerRow.name == name)) or 0


def claim_revision(connection: Connection, name: str, read: int) -> None:
    """Raise the revision from `read` by one, or refuse with StaleRevision. Call first in a write."""
    insert_new(connection, LedgerRow, [{"name": name, "revision": 0}])
    raised = connection.execute(
        update(LedgerRow).where(LedgerRow.name == name, LedgerRow.revision == read).values(revision=read + 1)
    )
    if raised.rowcount != 1:
        raise StaleRevision(name, read)


def raise_revision(connection: Connection, name: str) -> None:
    """Raise the revision whatever it is: for an entry whose facts do not rest on a snapshot."""
    insert_new(connection, LedgerRow, [{"name": name, "revision": 0}])
    connection.execute(
        update(LedgerRow).where(LedgerRow.name == name).values(revision=LedgerRow.revision + 1)
    )


def read_mark(connection: Connection, name: str) -> Mark | None:
    row = connection.execute(
        select(MarkRow.instant, MarkRow.jobs_done).where(MarkRow.name == name)
    ).one_or_none()
    return None if row is None else Mark(row.instant, row.jobs_done)


def set_mark(connection: Connection, name: str, mark: Mark) -> None:
    upsert(connection, MarkRow, [{"name": name, "instant": mark.instant, "jobs_done": mark.jobs_done}])
