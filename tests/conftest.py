"""Real parts for the tests: records on SQLite and PostgreSQL, and measured soil where it is at hand."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from models.store.engine import Store, open_store
from tests.postgres import PostgresServer, a_postgres_server

if TYPE_CHECKING:
    from playwright.sync_api import Browser


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--records", type=Path, help="folder of station files with measured soil temperature")


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Without `--records`, the tests on measured soil are left out, and the summary says so."""
    if config.getoption("--records") is not None:
        return
    left_out = [item for item in items if "records" in getattr(item, "fixturenames", ())]
    items[:] = [item for item in items if item not in left_out]
    config.stash[LEFT_OUT] = len(left_out)


LEFT_OUT = pytest.StashKey[int]()


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter, config: pytest.Config) -> None:
    if left_out := config.stash.get(LEFT_OUT, 0):
        terminalreporter.write_line(
            f"{left_out} tests on measured soil records were left out: no --records DIR"
        )


@pytest.fixture(scope="session")
def records(pytestconfig: pytest.Config) -> Path:
    """The folder given by `--records`: a missing or empty one fails the test."""
    folder = Path(pytestconfig.getoption("--records"))
    assert (folder / "stations.csv").is_file(), f"{folder} holds no stations.csv"
    return folder


@pytest.fixture(scope="session")
def postgres() -> Iterator[PostgresServer]:
    with a_postgres_server() as server:
        yield server


@pytest.fixture
def sqlite_store(tmp_path: Path) -> Iterator[Store]:
    """A migrated, empty store in a real SQLite file."""
    store = open_store(f"sqlite:///{tmp_path}/swardtide.sqlite3")
    store.migrate()
    yield store
    store.close()


@pytest.fixture
def postgres_store(postgres: PostgresServer) -> Iterator[Store]:
    """A migrated, empty store in a new database of a real PostgreSQL server."""
    with postgres.a_database() as address:
        store = open_store(address)
        store.migrate()
        yield store
        store.close()


@pytest.fixture(params=["sqlite", "postgresql"])
def store(request: pytest.FixtureRequest) -> Store:
    """The same test on both: nothing may lean on one of them."""
    chosen = "sqlite_store" if request.param == "sqlite" else "postgres_store"
    found: Store = request.getfixturevalue(chosen)
    return found


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    """Debian's Chromium; a machine without it fails the test."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        yield playwright.chromium.launch(
            executable_path="/usr/bin/chromium", args=["--headless", "--no-sandbox", "--disable-gpu"]
        )
