"""A throw-away PostgreSQL server on loopback for the length of a test run."""

from __future__ import annotations

import os
import shutil
import socket
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from itertools import count
from pathlib import Path

from sqlalchemy import create_engine

OWNER = "postgres"  # the server refuses to run as root


@dataclass
class PostgresServer:
    port: int
    _numbers: Iterator[int] = field(default_factory=lambda: count(1))

    def address(self, database: str) -> str:
        return f"postgresql+psycopg://{OWNER}@127.0.0.1:{self.port}/{database}"

    @contextmanager
    def a_database(self) -> Iterator[str]:
        name = f"test_{next(self._numbers)}"
        admin = create_engine(self.address("postgres"), isolation_level="AUTOCOMMIT")
        with admin.connect() as connection:
            connection.exec_driver_sql(f"CREATE DATABASE {name}")
            yield self.address(name)
            connection.exec_driver_sql(f"DROP DATABASE {name} WITH (FORCE)")
        admin.dispose()


def _programs() -> Path:
    found = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"))
    on_path = shutil.which("initdb")
    if not found and on_path is None:
        raise RuntimeError("no PostgreSQL server found: install Debian's `postgresql` package")
    return (found[-1] if found else Path(str(on_path))).parent


def _as_owner(*command: str | Path) -> None:
    words = [str(word) for word in command]
    if os.geteuid() == 0:
        words = ["runuser", "-u", OWNER, "--", *words]
    subprocess.run(words, check=True, capture_output=True, cwd="/")


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port


@contextmanager
def a_postgres_server() -> Iterator[PostgresServer]:
    programs = _programs()
    with tempfile.TemporaryDirectory(prefix="swardtide-pg-") as folder:
        if os.geteuid() == 0:
            shutil.chown(folder, OWNER)
        data, port = Path(folder) / "data", _free_port()
        _as_owner(
            programs / "initdb", "-D", data, "-U", OWNER, "-A", "trust", "--no-sync", "--locale=C.UTF-8"
        )
        # Durability is not what these tests are about; the disk is shared.
        options = f"-p {port} -k {folder} -h 127.0.0.1 -F -c max_connections=60"
        _as_owner(programs / "pg_ctl", "-D", data, "-w", "-l", f"{folder}/log", "-o", options, "start")
        try:
            yield PostgresServer(port)
        finally:
            _as_owner(programs / "pg_ctl", "-D", data, "-m", "immediate", "stop")
