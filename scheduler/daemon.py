"""Timed work: APScheduler around a list of jobs handed to it.

What is due lives in the records: the scheduler's own memory may be lost at any moment, and is.
"""

from __future__ import annotations

import threading
from collections import defaultdict
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time, timedelta

import structlog
from apscheduler.schedulers.background import BackgroundScheduler
from apscheduler.triggers.base import BaseTrigger
from apscheduler.triggers.combining import OrTrigger
from apscheduler.triggers.cron import CronTrigger

from models.clock import instant_at, local_day
from models.errors import Fault, RefusedInput
from models.facts.step import Job, Step
from models.store.engine import Store
from models.store.ledger import Mark, read_mark, set_mark

DAILY = "daily"
NIGHT = (time(1), time(3))  # clocks change within these hours: a time in them may come twice, or never
MISSED_BEATS_TO_REPLACE = 2

Clock = Callable[[], datetime]
log = structlog.get_logger("swardtide.daemon")


def last_due(now: datetime, at: time, time_zone: str) -> datetime:
    """The latest instant, not after `now`, at which local wall-clock `at` came round in `time_zone`."""
    today = local_day(now, time_zone)
    due = instant_at(today, at, time_zone)
    return due if due <= now else instant_at(today - timedelta(days=1), at, time_zone)


def times_of_day(job: Job) -> tuple[time, ...]:
    """The local times at which a job comes round, in order."""
    if job.every is None:
        return (job.at,)
    start = datetime.combine(date.min, job.at)
    end = datetime.combine(date.min, job.until or time.max)
    return tuple((start + n * job.every).time() for n in range((end - start) // job.every + 1))


def refuse_night_work(jobs: Sequence[Job]) -> None:
    """RefusedInput where a job comes round between 01:00 and 03:00 local, naming each such job."""
    faults = [
        Fault(
            f"job {job.step.name}",
            f"comes round at {clash:%H:%M} local, when clocks change",
            "give it a time before 01:00 or from 03:00 on",
        )
        for job in jobs
        if (clash := next((at for at in times_of_day(job) if NIGHT[0] <= at < NIGHT[1]), None)) is not None
    ]
    if faults:
        raise RefusedInput("timed work", faults)


def trigger_for(job: Job, time_zone: str) -> OrTrigger:
    """The library's trigger for a job's times of day in `time_zone`."""
    hours: dict[tuple[int, int], list[int]] = defaultdict(list)
    for at in times_of_day(job):
        hours[at.minute, at.second].append(at.hour)
    return OrTrigger(
        [
            CronTrigger(hour=",".join(map(str, each)), minute=minute, second=second, timezone=time_zone)
            for (minute, second), each in hours.items()
        ]
    )


class ByClock(BaseTrigger):  # type: ignore[misc]  # apscheduler has no types
    """Another trigger's times as `clock` tells them: after a replay it is apart from the machine's."""

    def __init__(self, inner: BaseTrigger, clock: Clock) -> None:
        self.inner = inner
        self.clock = clock

    def get_next_fire_time(self, previous_fire_time: datetime | None, now: datetime) -> datetime | None:
        # Whole seconds, so that the moment between two readings never makes a job come early.
        apart = timedelta(seconds=round((self.clock() - now).total_seconds()))
        # In UTC, for adding to a zone's time of day would pass over a change of its clocks.
        previous = None if previous_fire_time is None else previous_fire_time.astimezone(UTC) + apart
        due: datetime | None = self.inner.get_next_fire_time(previous, now.astimezone(UTC) + apart)
        return None if due is None else due.astimezone(UTC) - apart


@dataclass(frozen=True, slots=True)
class DailyChain:
    """The day's steps, run once a day in order from `at` local, however often it is asked to."""

    store: Store
    steps: tuple[Step, ...]
    at: time
    time_zone: str
    clock: Clock
    _running: threading.Lock = field(default_factory=threading.Lock, repr=False, compare=False)

    def run_due(self) -> None:
        """Run what is left of the chain due last, for the present; nothing where it is done or running."""
        if not self._running.acquire(blocking=False):
            return
        try:
            now = self.clock()
            due = last_due(now, self.at, self.time_zone)
            for position in range(self._done(due), len(self.steps)):
                run_step(self.steps[position], now)
                with self.store.write() as connection:
                    set_mark(connection, DAILY, Mark(due, position + 1))
        finally:
            self._running.release()

    def _done(self, due: datetime) -> int:
        with self.store.read() as connection:
            mark = read_mark(connection, DAILY)
        if mark is None or mark.instant < due:
            return 0
        return mark.jobs_done if mark.instant == due else len(self.steps)


def run_step(step: Step, now: datetime) -> None:
    """Run a step and log what became of it; its failure stops nobody else."""
    # Run apart, the failure comes back as a value: whatever it is, the other jobs and days go on.
    with ThreadPoolExecutor(max_workers=1, thread_name_prefix=step.name) as apart:
        ran = apart.submit(step.run, now)
    failure = ran.exception()
    if failure is not None:
        log.error("job failed", job=step.name, now=now.isoformat(), exc_info=failure)
        return
    outcome = ran.result()
    log.info("job done", job=step.name, now=now.isoformat(), changed=outcome.changed, said=outcome.said)


class Daemon:
    """Runs jobs at their local times by `clock`, from `start` to `stop`.

    The jobs without `every` are the daily chain and share one time. The watchdog looks every
    `watch_every` whether the timer still beats, wakes it, and replaces it if it does not wake.
    """

    def __init__(
        self,
        store: Store,
        jobs: Sequence[Job],
        time_zone: str,
        clock: Clock,
        *,
        watch_every: timedelta = timedelta(minutes=5),
    ) -> None:
        refuse_night_work(jobs)
        self.time_zone = time_zone
        self.clock = clock
        self.watch_every = watch_every
        self.chain_job, chain_steps = _chain_of(jobs)
        self.chain = DailyChain(store, chain_steps, self.chain_job.at, time_zone, clock)
        self.repeated = tuple(job for job in jobs if job.every is not None)
        self.scheduler: BackgroundScheduler | None = None
        self._beat = threading.Event()
        self._stopping = threading.Event()
        self._watchdog = threading.Thread(target=self._watch, name="swardtide-watchdog", daemon=True)

    def start(self) -> None:
        """Catch up with the chain due last, then keep time in the background."""
        self._start_scheduler()
        self._watchdog.start()

    def stop(self) -> None:
        """End the timer after the jobs that are running."""
        self._stopping.set()
        self._watchdog.join()
        if self.scheduler is not None:
            self.scheduler.shutdown(wait=True)

    def wake(self) -> None:
        """Look at once for what is due: the machine slept, or its clock was set."""
        if self.scheduler is not None:
            self.scheduler.wakeup()

    def _start_scheduler(self) -> None:
        scheduler = BackgroundScheduler(
            timezone=UTC,
            job_defaults={"misfire_grace_time": None, "coalesce": True, "max_instances": 1},
        )
        scheduler.add_job(self._beat.set, "interval", seconds=self.watch_every.total_seconds() / 4, id="beat")
        scheduler.add_job(self.chain.run_due, id="catch-up")
        scheduler.add_job(self.chain.run_due, self._by_clock(self.chain_job), id=DAILY)
        for job in self.repeated:
            scheduler.add_job(
                lambda step=job.step: run_step(step, self.clock()), self._by_clock(job), id=job.step.name
            )
        scheduler.start()
        self.scheduler = scheduler

    def _by_clock(self, job: Job) -> ByClock:
        return ByClock(trigger_for(job, self.time_zone), self.clock)

    def _watch(self) -> None:
        missed = 0
        while not self._stopping.wait(self.watch_every.total_seconds()):
            missed = 0 if self._beat.is_set() else missed + 1
            self._beat.clear()
            if missed:
                log.warning("the timer does not beat", missed=missed)
                self.wake()
            if missed >= MISSED_BEATS_TO_REPLACE:
                self._replace_scheduler()
                missed = 0

    def _replace_scheduler(self) -> None:
        dead, self.scheduler = self.scheduler, None
        if dead is not None:
            dead.shutdown(wait=False)
        self._start_scheduler()


def _chain_of(jobs: Sequence[Job]) -> tuple[Job, tuple[Step, ...]]:
    chain = [job for job in jobs if job.every is None]
    if len({job.at for job in chain}) != 1:
        times = ", ".join(f"{job.step.name} {job.at:%H:%M}" for job in chain) or "none"
        remedy = "give the day's jobs one time, and at least one job"
        raise RefusedInput("timed work", [Fault("daily jobs", times, remedy)])
    return chain[0], tuple(job.step for job in chain)
