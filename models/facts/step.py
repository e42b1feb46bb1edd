"""What the daemon and the rehearsal run: steps, and the jobs that put them on the clock."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, time, timedelta
from typing import Protocol

from models.facts.post import FeedFacts

RenderFeed = Callable[[FeedFacts], bytes]


@dataclass(frozen=True, slots=True)
class Outcome:
    """What a step did: how many rows it changed (0: nothing) and sentences worth a log line."""

    changed: int
    said: tuple[str, ...] = ()


class Step(Protocol):
    """One named piece of the day's work. Given what was known at `now`, it gives the same answer."""

    @property
    def name(self) -> str: ...

    def run(self, now: datetime) -> Outcome: ...


@dataclass(frozen=True, slots=True)
class Job:
    """A step at a local time of day; with `every`, again and again from `at` until `until`."""

    step: Step
    at: time
    every: timedelta | None = None
    until: time | None = None
