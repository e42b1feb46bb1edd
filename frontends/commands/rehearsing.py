"""What the rehearsal and the demo share: a home folder, what was asked of it, and progress on a terminal."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from datetime import date
from pathlib import Path

from models.clock import local_day
from models.errors import Fault, RefusedInput
from models.facts.step import Job
from models.store.engine import Store, open_store
from models.store.ledger import read_mark
from models.store.people import load_business
from scheduler.rehearsal.cast import Cast
from scheduler.rehearsal.replay import MARK, Progress, Replay

ASKED = "rehearsal.json"
Asked = Mapping[str, str | int]


def mail_folder(home: Path) -> Path:
    return home / "mail"


@contextmanager
def open_home(home: Path) -> Iterator[Store]:
    """The records in a home folder, made and migrated where they are not there yet."""
    home.mkdir(parents=True, exist_ok=True)
    store = open_store(f"sqlite:///{home / 'swardtide.sqlite3'}", durable=False)
    try:
        store.migrate()
        yield store
    finally:
        store.close()


def remember(home: Path, asked: Asked) -> None:
    """Note what was asked of this home; RefusedInput where it was something else the last time.

    The last day alone may move: a rehearsal can be taken further.
    """
    home.mkdir(parents=True, exist_ok=True)
    noted = home / ASKED
    if noted.is_file():
        before = json.loads(noted.read_text(encoding="utf-8"))
        faults = [
            Fault(name, str(value), f"it was {before.get(name)} here: ask the same, or take another --home")
            for name, value in asked.items()
            if before.get(name) != value and name != "to"
        ]
        if faults:
            raise RefusedInput(str(home), faults)
    fresh = noted.with_suffix(".new")
    fresh.write_text(json.dumps(asked, indent=1), encoding="utf-8")
    fresh.replace(noted)


def days_done(store: Store, time_zone: str) -> date | None:
    """The day that an earlier run has come to; None before the first."""
    with store.read() as connection:
        mark = read_mark(connection, MARK)
    return None if mark is None else local_day(mark.instant, time_zone)


@contextmanager
def progress_bar(words: str) -> Iterator[Progress | None]:
    """A bar on a terminal's standard error; None where there is no terminal to show it on."""
    if not sys.stderr.isatty():
        yield None
        return
    from rich.console import Console
    from rich.progress import BarColumn, TextColumn, TimeRemainingColumn
    from rich.progress import Progress as Bar

    columns = (
        TextColumn("{task.description}"),
        BarColumn(),
        TextColumn("{task.fields[day]}"),
        TimeRemainingColumn(),
    )
    with Bar(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task(words, total=None, day="")

        def show(day: date, done: int, days: int) -> None:
            bar.update(task, completed=done, total=days, day=day.isoformat())

        yield show


def run_replay(
    store: Store, jobs: Sequence[Job], cast: Cast, days: tuple[date, date], progress: Progress | None
) -> None:
    """Run the jobs of the service over `days`, from where an earlier run in this home has come to."""
    with store.read() as connection:
        time_zone = load_business(connection).time_zone
    Replay(store, jobs, cast, time_zone, *days).go(progress)
