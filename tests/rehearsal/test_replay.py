"""The replay's own clock and its mark: what runs when, and where it goes on."""

from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta

import pytest

from models.facts.step import Job, Outcome
from models.store.engine import Store
from scheduler.rehearsal.replay import Replay

LONDON = "Europe/London"
Log = list[tuple[str, datetime]]


@dataclass
class Noted:
    """A step that notes when it ran, and may break off on a day."""

    name: str
    log: Log
    breaks_on: date | None = None

    def run(self, now: datetime) -> Outcome:
        if now.date() == self.breaks_on:
            raise KeyboardInterrupt
        self.log.append((self.name, now))
        return Outcome(0)


def replay(store: Store, *steps: Noted, first: date, last: date) -> Replay:
    """Two jobs of the chain, the cast, and the post every ten minutes."""
    one, two, post, cast = steps
    every = Job(post, time(7), timedelta(minutes=10), time(20))
    return Replay(store, [Job(one, time(4, 30)), Job(two, time(4, 30)), every], cast, LONDON, first, last)


def steps(log: Log) -> list[Noted]:
    return [Noted(name, log) for name in ("one", "two", "post", "cast")]


def test_a_day_runs_the_chain_the_post_the_cast_and_the_post_again(sqlite_store: Store) -> None:
    log: Log = []
    # The last Sunday of March 2024: clocks went forward at 01:00 UTC (EU Directive 2000/84/EC).
    days = date(2024, 3, 30), date(2024, 3, 31)

    replay(sqlite_store, *steps(log), first=days[0], last=days[1]).go()

    winter = [(4, 30, "one"), (4, 30, "two"), (7, 30, "post"), (12, 0, "cast"), (19, 30, "post")]
    assert log == [
        *((name, datetime(2024, 3, 30, hour, minute, tzinfo=UTC)) for hour, minute, name in winter),
        *((name, datetime(2024, 3, 31, hour - 1, minute, tzinfo=UTC)) for hour, minute, name in winter),
    ]


def test_it_goes_on_with_the_very_run_that_broke_off(sqlite_store: Store) -> None:
    log: Log = []
    first, last = date(2024, 6, 1), date(2024, 6, 3)
    broken = steps(log)
    broken[3].breaks_on = date(2024, 6, 2)
    with pytest.raises(KeyboardInterrupt):
        replay(sqlite_store, *broken, first=first, last=last).go()
    log.clear()

    replay(sqlite_store, *steps(log), first=first, last=last).go()

    # Nothing that came before noon is done again, for it would see what the cast did before it broke off.
    assert [name for name, _ in log] == ["cast", "post", "one", "two", "post", "cast", "post"]
    assert log[0] == ("cast", datetime(2024, 6, 2, 11, 0, tzinfo=UTC))


def test_a_finished_one_has_nothing_left_and_a_later_end_goes_on(sqlite_store: Store) -> None:
    log: Log = []
    first, last = date(2024, 6, 1), date(2024, 6, 2)
    replay(sqlite_store, *steps(log), first=first, last=last).go()
    log.clear()

    replay(sqlite_store, *steps(log), first=first, last=last).go()
    assert log == []

    seen: list[tuple[date, int, int]] = []
    end = last + timedelta(days=1)
    replay(sqlite_store, *steps(log), first=first, last=end).go(lambda *told: seen.append(told))
    assert [name for name, _ in log] == ["one", "two", "post", "cast", "post"]
    assert seen == [(last, 2, 3), (end, 3, 3)]
