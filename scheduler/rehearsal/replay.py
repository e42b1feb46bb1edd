"""Runs the jobs of the service over past days with a clock of its own, and a cast that answers.

Exact after a kill: a mark is written after each run, so at most one run is done again, and a step run
again at the same instant changes nothing. A run that changed nothing is marked too: done again after a
later one, it would see what that one changed (a plan of the morning a survey of noon).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from models.clock import instant_at, local_day
from models.facts.step import Job, Step
from models.store.engine import Store
from models.store.ledger import Mark, read_mark, set_mark

MARK = "rehearsal"
CAST_AT = time(12, 0)
REPEATED_AT = (
    time(7, 30),
    time(19, 30),
)  # stands for "every ten minutes": what the morning and the cast caused

Progress = Callable[[date, int, int], None]


@dataclass(frozen=True, slots=True)
class Run:
    """One step at one instant; `place` is its place among the runs of that instant."""

    instant: datetime
    place: int
    step: Step


@dataclass(frozen=True, slots=True)
class Replay:
    """The days from `first` to `last`, both included, of a business in `time_zone`."""

    store: Store
    jobs: Sequence[Job]
    cast: Step
    time_zone: str
    first: date
    last: date

    def go(self, progress: Progress | None = None) -> None:
        """Run from the mark, or from the first day, to the end."""
        with self.store.read() as connection:
            mark = read_mark(connection, MARK)
        begin = self.first if mark is None else max(self.first, local_day(mark.instant, self.time_zone))
        days = (self.last - self.first).days + 1
        for day in _days(begin, self.last):
            for run in runs_of_day(self.jobs, self.cast, day, self.time_zone):
                if mark is None or (run.instant, run.place) >= (mark.instant, mark.jobs_done):
                    self._do(run)
            if progress is not None:
                progress(day, (day - self.first).days + 1, days)

    def _do(self, run: Run) -> None:
        run.step.run(run.instant)
        with self.store.write() as connection:
            set_mark(connection, MARK, Mark(run.instant, run.place + 1))


def runs_of_day(jobs: Sequence[Job], cast: Step, day: date, time_zone: str) -> Iterator[Run]:
    """The day's runs in order of time; jobs of one time keep their order."""
    timed = [(job.at, job.step) for job in jobs if job.every is None]
    timed += [(at, job.step) for job in jobs if job.every is not None for at in REPEATED_AT]
    timed.append((CAST_AT, cast))
    for at in sorted({at for at, _ in timed}):
        for place, step in enumerate(step for its_at, step in timed if its_at == at):
            yield Run(instant_at(day, at, time_zone), place, step)


def _days(first: date, last: date) -> Iterator[date]:
    for offset in range((last - first).days + 1):
        yield first + timedelta(days=offset)
