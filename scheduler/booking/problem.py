"""What is to be booked: requests for days, and all that bounds them. A solver needs nothing else."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta

from models.facts.place import Position
from models.facts.rules import BookingRules
from models.facts.season import Span
from models.facts.work import VisitKind


@dataclass(frozen=True, slots=True)
class Stop:
    """A visit on a day that nobody may move any more."""

    visit_key: str
    day: date
    minutes: int
    position: Position


@dataclass(frozen=True, slots=True)
class Request:
    """A visit that needs a day, or has one that holds.

    `chances`: for a treatment, the chance of each day that its window is open (a day not named: none);
    other visits need no window. `notice_days`: the earliest day is that many days from today.
    `present`: the day booked now; `because`: why it cannot hold, or why an earlier day fell through.
    """

    visit_key: str
    kind: VisitKind
    allowed: Span
    minutes: int
    position: Position
    chances: Mapping[date, float]
    refused: frozenset[date]
    notice_days: int
    present: date | None = None
    because: str = ""

    @property
    def holds(self) -> bool:
        return self.present is not None and not self.because

    def chance(self, day: date) -> float:
        return self.chances.get(day, 0.0) if self.kind is VisitKind.TREATMENT else 1.0


@dataclass(frozen=True, slots=True)
class Choice:
    """The days a request may have: those likely enough, and the lesser ones to fall back on."""

    likely: tuple[date, ...]
    lesser: tuple[date, ...]

    @property
    def days(self) -> tuple[date, ...]:
        return self.likely + self.lesser


@dataclass(frozen=True, slots=True)
class Problem:
    """Requests, the stops that stand, the base where the van starts, and the rules of the business."""

    today: date
    requests: tuple[Request, ...]
    fixed: tuple[Stop, ...]
    base: Position
    rules: BookingRules

    @property
    def horizon(self) -> date:
        return self.today + timedelta(days=self.rules.horizon_days)

    def choice(self, request: Request) -> Choice:
        """Likely days first. Lesser days count only once all days of the request can be seen:
        a better one may still come."""
        open_days = [day for day in self.working_days(request) if day not in request.refused]
        likely = tuple(day for day in open_days if request.chance(day) >= self.rules.least_chance)
        lesser = tuple(day for day in open_days if 0 < request.chance(day) < self.rules.least_chance)
        return Choice(likely, lesser if request.allowed.last <= self.horizon else ())

    def working_days(self, request: Request) -> tuple[date, ...]:
        """Working days within the request's span, its notice and the horizon."""
        first = max(request.allowed.first, self.today + timedelta(days=request.notice_days))
        last = min(request.allowed.last, self.horizon)
        if last < first:
            return ()
        return tuple(day for day in Span(first, last).days() if day.weekday() in self.rules.working_weekdays)
