"""Whether the records can be read, and whether their schema is the newest."""

from __future__ import annotations

from dataclasses import dataclass

from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy.exc import SQLAlchemyError

from models.errors import SwardtideError
from models.store.engine import MIGRATIONS, Store


class RecordsUnavailable(SwardtideError):
    """The database gives no answer; nothing was read or changed."""

    def __init__(self, address: str, trouble: str) -> None:
        self.address, self.trouble = address, trouble
        super().__init__(f"database {address}: {trouble}; see that it runs and that this user may use it")


@dataclass(frozen=True, slots=True)
class Schema:
    """The revision that the records have (None: none yet) and the newest there is."""

    present: str | None
    newest: str | None


def database_trouble(store: Store) -> str | None:
    """What keeps the records from being read; None where nothing does."""
    try:
        with store.read() as connection:
            connection.exec_driver_sql("SELECT 1")
    except SQLAlchemyError as trouble:
        return str(getattr(trouble, "orig", None) or trouble).strip().partition("\n")[0]
    return None


def require_records(store: Store) -> None:
    """RecordsUnavailable where the records cannot be read; no password is told."""
    trouble = database_trouble(store)
    if trouble is not None:
        raise RecordsUnavailable(store.engine.url.render_as_string(hide_password=True), trouble)


def schema_of(store: Store) -> Schema:
    """Reads only; brings nothing up to date."""
    config = Config()
    config.set_main_option("script_location", str(MIGRATIONS))
    newest = ScriptDirectory.from_config(config).get_current_head()
    with store.read() as connection:
        return Schema(MigrationContext.configure(connection).get_current_revision(), newest)
