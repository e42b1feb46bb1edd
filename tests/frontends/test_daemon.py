"""Timed work on a real scheduler, over both nights on which clocks change, and after a standstill."""

from __future__ import annotations

import time as machine_time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from freezegun import freeze_time
from freezegun.api import FrozenDateTimeFactory

from models.clock import instant_at, local_day, now_utc, shifted
from models.errors import RefusedInput
from models.facts.step import Job, Outcome
from models.store.engine import Store
from models.store.ledger import Mark, read_mark, set_mark
from scheduler.daemon import DAILY, ByClock, Daemon, DailyChain, last_due, times_of_day, trigger_for

DUBLIN = "Europe/Dublin"
HALF_PAST_FOUR = time(4, 30)
TEN_MINUTES = timedelta(minutes=10)
A_DAY = timedelta(days=1)


def utc(year: int, month: int, day: int, hour: int = 0, minute: int = 0) -> datetime:
    return datetime(year, month, day, hour, minute, tzinfo=UTC)


@dataclass
class Noted:
    """A step that notes the instants for which it ran, and fails where it is told to."""

    name: str
    ran: list[datetime] = field(default_factory=list)
    broken: bool = False

    def run(self, now: datetime) -> Outcome:
        self.ran.append(now)
        if self.broken:
            raise OSError("the cable is out")
        return Outcome(1, ("noted",))


def daily(*steps: Noted) -> tuple[Job, ...]:
    return tuple(Job(step, HALF_PAST_FOUR) for step in steps)


def until(true: Callable[[], bool], what: str) -> None:
    """Wait in real time: the scheduler's threads are not frozen."""
    for _ in range(1000):
        if true():
            return
        machine_time.sleep(0.01)
    raise AssertionError(f"never happened: {what}")


def mark_of(store: Store) -> Mark | None:
    with store.read() as connection:
        return read_mark(connection, DAILY)


@contextmanager
def running(daemon: Daemon) -> Iterator[Daemon]:
    daemon.start()
    try:
        yield daemon
    finally:
        daemon.stop()


def daemon_of(store: Store, *jobs: Job, zone: str = DUBLIN) -> Daemon:
    return Daemon(store, jobs, zone, now_utc, watch_every=timedelta(hours=1))


@pytest.mark.parametrize(
    ("now", "due"),
    [
        # Summer time in Ireland: UTC+1 from 01:00 UTC on the last Sunday of March to that of October
        # (Directive 2000/84/EC); in 2024: 31 March and 27 October.
        (utc(2024, 3, 30, 12), utc(2024, 3, 30, 4, 30)),
        (utc(2024, 3, 31, 3, 29), utc(2024, 3, 30, 4, 30)),
        (utc(2024, 3, 31, 3, 30), utc(2024, 3, 31, 3, 30)),
        (utc(2024, 10, 27, 3, 30), utc(2024, 10, 26, 3, 30)),
        (utc(2024, 10, 27, 4, 30), utc(2024, 10, 27, 4, 30)),
    ],
)
def test_last_due(now: datetime, due: datetime) -> None:
    assert last_due(now, HALF_PAST_FOUR, DUBLIN) == due


@pytest.mark.parametrize(
    ("job", "after", "expected"),
    [
        (Job(Noted("chain"), HALF_PAST_FOUR), utc(2024, 3, 30, 4, 30), utc(2024, 3, 31, 3, 30)),
        (Job(Noted("chain"), HALF_PAST_FOUR), utc(2024, 3, 31, 3, 30), utc(2024, 4, 1, 3, 30)),
        (Job(Noted("chain"), HALF_PAST_FOUR), utc(2024, 10, 26, 3, 30), utc(2024, 10, 27, 4, 30)),
        (Job(Noted("chain"), HALF_PAST_FOUR), utc(2024, 10, 27, 4, 30), utc(2024, 10, 28, 4, 30)),
        (Job(Noted("post"), time(7), TEN_MINUTES, time(20)), utc(2024, 7, 1, 6), utc(2024, 7, 1, 6, 10)),
        (Job(Noted("post"), time(7), TEN_MINUTES, time(20)), utc(2024, 7, 1, 19), utc(2024, 7, 2, 6)),
        (Job(Noted("post"), time(7), TEN_MINUTES, time(20)), utc(2024, 10, 26, 19), utc(2024, 10, 27, 7)),
    ],
)
def test_the_trigger_gives_the_next_time(job: Job, after: datetime, expected: datetime) -> None:
    assert trigger_for(job, DUBLIN).get_next_fire_time(after, after + timedelta(seconds=1)) == expected


def test_times_of_day_of_repeated_work() -> None:
    assert times_of_day(Job(Noted("post"), time(7), timedelta(hours=6), time(20))) == (
        time(7),
        time(13),
        time(19),
    )


def test_a_trigger_by_a_shifted_clock_fires_when_that_clock_says_so() -> None:
    job = Job(Noted("chain"), HALF_PAST_FOUR)
    with freeze_time(utc(2026, 11, 25, 10)):
        trigger = ByClock(trigger_for(job, DUBLIN), shifted(utc(2024, 3, 31, 2, 30) - now_utc()))
        assert trigger.get_next_fire_time(None, now_utc()) == utc(2026, 11, 25, 11)


@pytest.mark.parametrize(
    "job",
    [
        Job(Noted("soil"), time(1, 30)),
        Job(Noted("soil"), time(2, 59)),
        Job(Noted("post"), time(0, 30), timedelta(hours=1), time(5)),
    ],
)
def test_work_in_the_hours_when_clocks_change_is_refused(store: Store, job: Job) -> None:
    with pytest.raises(RefusedInput, match="when clocks change - give it a time before 01:00 or from 03:00"):
        daemon_of(store, *daily(Noted("weather")), job)


def test_daily_jobs_at_two_times_are_refused(store: Store) -> None:
    jobs = (Job(Noted("weather"), time(4)), Job(Noted("soil"), time(5)))
    with pytest.raises(RefusedInput, match="daily jobs: weather 04:00, soil 05:00 - give the day's jobs one"):
        daemon_of(store, *jobs)


def test_a_failing_job_stops_neither_the_others_nor_the_next_day(store: Store) -> None:
    weather, soil = Noted("weather", broken=True), Noted("soil")
    instants = [utc(2024, 4, 1, 5), utc(2024, 4, 2, 5)]
    for now in instants:
        DailyChain(store, (weather, soil), HALF_PAST_FOUR, DUBLIN, lambda now=now: now).run_due()
    assert (weather.ran, soil.ran) == (instants, instants)
    assert mark_of(store) == Mark(utc(2024, 4, 2, 3, 30), 2)


def test_an_interrupted_chain_goes_on_with_the_job_that_is_left(store: Store) -> None:
    weather, soil, windows = Noted("weather"), Noted("soil"), Noted("windows")
    with store.write() as connection:
        set_mark(connection, DAILY, Mark(utc(2024, 4, 1, 3, 30), 1))
    now = utc(2024, 4, 1, 9)
    chain = DailyChain(store, (weather, soil, windows), HALF_PAST_FOUR, DUBLIN, lambda: now)
    chain.run_due()
    chain.run_due()
    assert (weather.ran, soil.ran, windows.ran) == ([], [now], [now])


@pytest.mark.parametrize("change", [date(2024, 3, 31), date(2024, 10, 27)])
def test_the_chain_runs_once_on_each_day_about_a_change_of_clocks(sqlite_store: Store, change: date) -> None:
    first, second = Noted("weather"), Noted("soil")
    begin = instant_at(change - A_DAY, time(5), DUBLIN)
    with (
        freeze_time(begin, real_asyncio=True) as frozen,
        running(daemon_of(sqlite_store, *daily(first, second))) as daemon,
    ):
        until(lambda: mark_of(sqlite_store) == Mark(last_due(begin, HALF_PAST_FOUR, DUBLIN), 2), "catch-up")
        for _ in range(49 * 6):
            frozen.tick(TEN_MINUTES)
            daemon.wake()
            due = last_due(now_utc(), HALF_PAST_FOUR, DUBLIN)
            until(lambda due=due: mark_of(sqlite_store) == Mark(due, 2), f"chain of {due}")
    for step in (first, second):
        assert [local_day(now, DUBLIN) for now in step.ran] == [change - A_DAY, change, change + A_DAY]
        assert [now.astimezone(ZoneInfo(DUBLIN)).time() for now in step.ran[1:]] == [HALF_PAST_FOUR] * 2


def test_after_three_days_asleep_the_chain_runs_once_for_the_present(sqlite_store: Store) -> None:
    step, post = Noted("weather"), Noted("post")
    jobs = (*daily(step), Job(post, time(7), TEN_MINUTES, time(20)))
    begin, woken = utc(2024, 6, 3, 6, 0), utc(2024, 6, 6, 9, 5)
    with freeze_time(begin, real_asyncio=True) as frozen, running(daemon_of(sqlite_store, *jobs)) as daemon:
        until(lambda: len(step.ran) == 1 and len(post.ran) == 1, "the first day")
        frozen.move_to(woken)
        daemon.wake()
        until(lambda: len(step.ran) == 2 and len(post.ran) == 2, "the day of waking")
        the_scheduler_is_idle(frozen, daemon)
    assert step.ran == [begin, woken]
    assert [now for now in post.ran if now >= woken] == [woken]


def test_a_restart_after_three_days_runs_the_chain_once_for_the_present(sqlite_store: Store) -> None:
    before, after = Noted("weather"), Noted("weather")
    with freeze_time(utc(2024, 6, 3, 6), real_asyncio=True), running(daemon_of(sqlite_store, *daily(before))):
        until(lambda: len(before.ran) == 1, "the first day")
    with freeze_time(utc(2024, 6, 6, 9), real_asyncio=True) as frozen:
        for _ in range(2):
            with running(daemon_of(sqlite_store, *daily(after))) as daemon:
                the_scheduler_is_idle(frozen, daemon)
    assert after.ran == [utc(2024, 6, 6, 9)]
    assert mark_of(sqlite_store) == Mark(utc(2024, 6, 6, 3, 30), 1)


def the_scheduler_is_idle(frozen: FrozenDateTimeFactory, daemon: Daemon) -> None:
    """Let the timer come round once more: whatever was due is then run."""
    daemon.wake()
    scheduler = daemon.scheduler
    assert scheduler is not None
    until(lambda: all(job.next_run_time > now_utc() for job in scheduler.get_jobs()), "nothing is due")
    until(lambda: not daemon.chain._running.locked(), "the chain has ended")


def test_tiny_intervals_on_the_real_clock(sqlite_store: Store) -> None:
    zone, local = a_zone_at_noon()
    post = Noted("post")
    start = (datetime.combine(date.min, local) + timedelta(seconds=3)).time()
    end = (datetime.combine(date.min, local) + timedelta(seconds=5)).time()
    chain = Noted("weather")
    jobs = (*daily(chain), Job(post, start, timedelta(seconds=1), end))
    with running(daemon_of(sqlite_store, *jobs, zone=zone)):
        until(lambda: len(post.ran) == 3, "three runs within three seconds")
        machine_time.sleep(1.2)
    seconds = [now.astimezone(ZoneInfo(zone)).time().replace(microsecond=0) for now in post.ran]
    assert seconds == list(times_of_day(jobs[-1]))
    assert len(chain.ran) == 1


def a_zone_at_noon() -> tuple[str, time]:
    """A zone in which it is about noon, so that the test may run at any hour."""
    now = now_utc()
    behind = now.hour - 12
    zone = f"Etc/GMT{behind:+d}" if behind else "Etc/GMT"
    return zone, now.astimezone(ZoneInfo(zone)).time().replace(microsecond=0)


@dataclass
class FailingClock:
    """A clock that can be told to fail, which ends the library's timer thread."""

    failing: bool = False

    def __call__(self) -> datetime:
        if self.failing:
            raise OSError("no clock")
        return now_utc()


@pytest.mark.filterwarnings("ignore::pytest.PytestUnhandledThreadExceptionWarning")
def test_the_watchdog_replaces_a_timer_that_died(sqlite_store: Store) -> None:
    clock, post = FailingClock(), Noted("post")
    zone, local = a_zone_at_noon()
    at = (datetime.combine(date.min, local) + timedelta(seconds=1)).time()
    every_second = Job(
        post, at, timedelta(seconds=1), (datetime.combine(date.min, at) + timedelta(seconds=30)).time()
    )
    daemon = Daemon(
        sqlite_store,
        (*daily(Noted("weather")), every_second),
        zone,
        clock,
        watch_every=timedelta(seconds=1),
    )
    with running(daemon):
        first = daemon.scheduler
        until(lambda: len(post.ran) >= 1, "a first run")
        clock.failing = True
        until(lambda: first is not None and not first._thread.is_alive(), "the timer has died")
        clock.failing = False
        ran_before = len(post.ran)
        until(lambda: len(post.ran) > ran_before, "runs go on")
        assert daemon.scheduler is not first
