"""Runs the migrations on the engine handed over in the config's attributes."""

from __future__ import annotations

from alembic import context
from sqlalchemy import Engine

from models.tables import metadata


def run(engine: Engine) -> None:
    with engine.connect() as connection:
        if engine.dialect.name == "sqlite":
            # A batch rebuild drops the old table, which would cascade to its children.
            connection.exec_driver_sql("PRAGMA foreign_keys=OFF")
        connection.commit()
        context.configure(connection=connection, target_metadata=metadata, render_as_batch=True)
        with context.begin_transaction():
            context.run_migrations()
        connection.commit()


run(context.config.attributes["engine"])
