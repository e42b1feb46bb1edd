"""A rehearsal killed at five moments and started again leaves what one leaves that ran through."""

from __future__ import annotations

import subprocess
import sys
import time
from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from random import Random
from signal import SIGKILL
from typing import Any

import pytest

from frontends.commands.rehearsing import mail_folder, open_home
from models.facts.place import Position
from models.store.feeds import load_feed
from models.store.ledger import read_mark
from models.store.people import load_clients
from models.store.post import load_messages
from models.store.stock import load_batches, load_orders
from models.store.visits import load_changes, load_visits
from models.store.windows import load_windows
from models.store.work import load_counts, load_treatments
from scheduler.rehearsal.invented_weather import InventedSite, write_station_files
from scheduler.rehearsal.replay import MARK

SITE = InventedSite("valley", "Skerravane Mill (invented)", Position(53.95, -11.95), 45.0, sea_km=12.0)
FIRST, LAST = date(2020, 7, 1), date(2021, 8, 31)
KILLS = 5


@pytest.fixture(scope="module")
def invented(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("records")
    write_station_files(folder, [SITE], date(2017, 1, 1), LAST, 3, ())
    return folder


def start(records: Path, home: Path) -> subprocess.Popen[bytes]:
    """The command of a real process, eight lawns and fourteen months."""
    words = ["--from", str(FIRST), "--to", str(LAST), "--records", str(records), "--lawns", "8"]
    command = [sys.executable, "-m", "frontends.commands.main", "rehearse", *words, "--home", str(home)]
    return subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE)


def finish(process: subprocess.Popen[bytes]) -> None:
    told, trouble = process.communicate()
    assert process.returncode == 0, trouble.decode()
    assert b"treatments:" in told


def kill_at(process: subprocess.Popen[bytes], home: Path, moment: datetime, later_s: float) -> None:
    """SIGKILL a little after the mark has come to `moment`."""
    with open_home(home) as store:
        while process.poll() is None:
            with store.read() as connection:
                mark = read_mark(connection, MARK)
            if mark is not None and mark.instant >= moment:
                break
            time.sleep(0.003)
    time.sleep(later_s)
    process.kill()
    process.communicate()
    assert process.returncode == -SIGKILL


def moments() -> Iterator[tuple[datetime, float]]:
    """Five seeded moments in order, most of them in the months with treatments and mail."""
    chance = Random(20)
    days = sorted(
        [
            *chance.sample(range(60, 125), 3),
            *chance.sample(range(215, 260), 1),
            *chance.sample(range(290, 330), 1),
        ]
    )
    for day in days:
        yield datetime(2020, 7, 1, 3, 30, tzinfo=UTC) + timedelta(days=day), chance.uniform(0.0, 0.06)


def left_behind(home: Path) -> dict[str, Any]:
    """All that a rehearsal leaves. How often a message was attempted may differ: a kill may cost one."""
    with open_home(home) as store, store.read() as connection:
        visits = load_visits(connection)
        return {
            "visits": visits,
            "visit changes": [load_changes(connection, visit.key) for visit in visits],
            "messages": [replace(kept, attempts=0) for kept in load_messages(connection)],
            "feeds": [load_feed(connection, client.key) for client in load_clients(connection)],
            "mail": files(mail_folder(home)),
            "treatments": load_treatments(connection),
            "counts": load_counts(connection),
            "stock": (load_orders(connection, open_only=False), load_batches(connection)),
            "windows": load_windows(connection),
        }


def files(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in sorted(folder.iterdir())}


def killed_five_times(records: Path, home: Path, at: Sequence[tuple[datetime, float]]) -> None:
    for moment, later_s in at:
        kill_at(start(records, home), home, moment, later_s)
    finish(start(records, home))


def test_killed_and_started_again_it_ends_as_if_nothing_had_been(invented: Path, tmp_path: Path) -> None:
    through = start(invented, tmp_path / "through")
    killed_five_times(invented, tmp_path / "killed", list(moments()))
    finish(through)

    undisturbed = left_behind(tmp_path / "through")
    assert len(undisturbed["treatments"]) >= 8
    assert len(undisturbed["mail"]) > 50
    killed = left_behind(tmp_path / "killed")
    for what, expected in undisturbed.items():
        assert killed[what] == expected, what
