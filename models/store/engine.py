"""Opening the records: SQLite in one file, or PostgreSQL, by one address."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from alembic import command
from alembic.config import Config
from sqlalchemy import Connection, Engine, create_engine, event
from sqlalchemy.engine import make_url

# Callers name the type of an open transaction without importing SQL.
__all__ = ["Connection", "Store", "open_store"]

MIGRATIONS = Path(__file__).parent.parent / "migrations"
WRITES = {"swardtide_writes": True}


class Store:
    """The records behind one engine. `read` sees one snapshot; `write` is one short transaction."""

    def __init__(self, engine: Engine) -> None:
        self.engine = engine
        snapshot = {"isolation_level": "REPEATABLE READ"} if engine.dialect.name == "postgresql" else {}
        self._readers = engine.execution_options(**snapshot)
        self._writers = engine.execution_options(**WRITES)

    @contextmanager
    def read(self) -> Iterator[Connection]:
        with self._readers.connect() as connection:
            yield connection

    @contextmanager
    def write(self) -> Iterator[Connection]:
        with self._writers.begin() as connection:
            yield connection

    def migrate(self) -> None:
        """Bring the schema to the newest revision."""
        config = Config()
        config.set_main_option("script_location", str(MIGRATIONS))
        config.attributes["engine"] = self.engine
        command.upgrade(config, "head")

    def close(self) -> None:
        self.engine.dispose()


def open_store(address: str, *, durable: bool = True) -> Store:
    """The store at a SQLAlchemy address (`sqlite:///file`, `postgresql+psycopg://…`).

    `durable=False` lets SQLite lose the last commits on a power cut (never on a kill): rehearsals only.
    """
    url = make_url(address)
    engine = create_engine(url)
    if url.get_backend_name() == "sqlite":
        _prepare_sqlite(engine, "FULL" if durable else "NORMAL")
    return Store(engine)


def _prepare_sqlite(engine: Engine, synchronous: str) -> None:
    @event.listens_for(engine, "connect")
    def on_connect(connection: Any, _record: object) -> None:
        connection.isolation_level = None  # the driver must not begin transactions by itself
        for pragma in (
            "journal_mode=WAL",
            f"synchronous={synchronous}",
            "foreign_keys=ON",
            "busy_timeout=5000",
        ):
            connection.execute(f"PRAGMA {pragma}")

    @event.listens_for(engine, "begin")
    def on_begin(connection: Connection) -> None:
        # Without IMMEDIATE two writers that read first lose each other's updates.
        writes = connection.get_execution_options().get("swardtide_writes", False)
        connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")
