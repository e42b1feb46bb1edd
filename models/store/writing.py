"""Insert-or-leave and insert-or-update, on SQLite and PostgreSQL alike."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import lru_cache
from typing import Any

from sqlalchemy import Connection, Table
from sqlalchemy.dialects import postgresql, sqlite

from models.tables.base import Base

Rows = Sequence[Mapping[str, Any]]
Insert = postgresql.Insert | sqlite.Insert


def table_of(row_class: type[Base]) -> Table:
    table = row_class.__table__
    assert isinstance(table, Table)
    return table


def _insert(dialect: str, table: Table) -> Insert:
    return postgresql.insert(table) if dialect == "postgresql" else sqlite.insert(table)


def insert_new(connection: Connection, row_class: type[Base], rows: Rows) -> int:
    """Insert the rows whose primary key is new; leave the others as they are. Gives how many were new."""
    statement = _adding(connection.dialect.name, row_class)
    return sum(connection.execute(statement, row).rowcount for row in rows)


def insert_many_new(connection: Connection, row_class: type[Base], rows: Rows) -> int:
    """`insert_new` for thousands of rows at once: one statement executed over all of them."""
    if not rows:
        return 0
    statement = _adding(connection.dialect.name, row_class)
    return connection.execute(statement, [dict(row) for row in rows]).rowcount


def upsert(connection: Connection, row_class: type[Base], rows: Rows) -> None:
    """Insert the rows, or update all other columns given where the primary key is there already."""
    if not rows:
        return
    updating = _updating(connection.dialect.name, row_class, tuple(rows[0]))
    connection.execute(updating, [dict(row) for row in rows])


# Statements are kept: building one costs more than running it on a few rows.


@lru_cache(maxsize=256)
def _adding(dialect: str, row_class: type[Base]) -> Insert:
    statement = _insert(dialect, table_of(row_class)).on_conflict_do_nothing()
    return statement.execution_options(preserve_rowcount=True)  # else psycopg's count is dropped


@lru_cache(maxsize=256)
def _updating(dialect: str, row_class: type[Base], names: tuple[str, ...]) -> Insert:
    table = table_of(row_class)
    statement = _insert(dialect, table)
    keys = [column.name for column in table.primary_key]
    changed = {name: statement.excluded[name] for name in names if name not in keys}
    return statement.on_conflict_do_update(index_elements=keys, set_=changed)
