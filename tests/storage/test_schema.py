"""Migrations and tables tell the same story, and the records keep what they were given."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta, timezone

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from sqlalchemy import insert, select
from sqlalchemy.exc import IntegrityError, StatementError

from models.errors import StaleRevision
from models.store import ledger
from models.store.engine import Store
from models.tables import metadata
from models.tables.service import MarkRow
from models.tables.work import RefusalRow


def test_migrations_and_tables_give_the_same_schema(store: Store) -> None:
    with store.engine.connect() as connection:
        context = MigrationContext.configure(connection, opts={"compare_type": True})
        assert compare_metadata(context, metadata) == []


def test_an_instant_comes_back_as_the_same_utc_instant(store: Store) -> None:
    in_summer = datetime(2026, 7, 1, 9, 30, 0, 123456, tzinfo=timezone(timedelta(hours=1)))
    with store.write() as connection:
        ledger.set_mark(connection, "day", ledger.Mark(in_summer, 3))
    with store.read() as connection:
        kept = ledger.read_mark(connection, "day")
    assert kept == ledger.Mark(datetime(2026, 7, 1, 8, 30, 0, 123456, tzinfo=UTC), 3)
    assert kept is not None
    assert kept.instant.tzinfo is UTC


def test_a_naive_instant_is_refused(store: Store) -> None:
    with store.write() as connection, pytest.raises(StatementError, match="no time zone"):
        connection.execute(
            insert(MarkRow).values(name="day", instant=datetime(2026, 7, 1), jobs_done=0)  # noqa: DTZ001
        )


def test_a_foreign_key_is_enforced(store: Store) -> None:
    orphan = {"lawn_key": "nowhere", "day": date(2026, 9, 1), "recorded_at": datetime(2026, 9, 1, tzinfo=UTC)}
    with pytest.raises(IntegrityError), store.write() as connection:
        connection.execute(insert(RefusalRow), orphan)


def test_a_write_on_a_revision_that_moved_is_refused(store: Store) -> None:
    with store.write() as connection:
        ledger.claim_revision(connection, "book", 0)
    with store.write() as connection, pytest.raises(StaleRevision, match="revision 0 no longer holds"):
        ledger.claim_revision(connection, "book", 0)
    with store.read() as connection:
        assert ledger.revision_of(connection, "book") == 1


def _raise_the_book_and_fail(store: Store) -> None:
    with store.write() as connection:
        ledger.raise_revision(connection, "book")
        raise RuntimeError("on purpose")


def test_a_failed_write_leaves_nothing(store: Store) -> None:
    with pytest.raises(RuntimeError, match="on purpose"):
        _raise_the_book_and_fail(store)
    with store.read() as connection:
        assert connection.execute(select(MarkRow.name)).all() == []
        assert ledger.revision_of(connection, "book") == 0
