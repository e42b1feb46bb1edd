"""Writes a new schema revision from what the tables say: `python -m models.migrations.new 0002 "why"`."""

from __future__ import annotations

import sys
import tempfile

from alembic import command
from alembic.config import Config

from models.store.engine import MIGRATIONS, open_store


def write_revision(revision: str, message: str) -> None:
    with tempfile.TemporaryDirectory() as folder:
        store = open_store(f"sqlite:///{folder}/present.sqlite3")
        store.migrate()
        config = Config()
        config.set_main_option("script_location", str(MIGRATIONS))
        config.attributes["engine"] = store.engine
        command.revision(config, message=message, autogenerate=True, rev_id=revision)
        store.close()


if __name__ == "__main__":
    write_revision(*sys.argv[1:3])
