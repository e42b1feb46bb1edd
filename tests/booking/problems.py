"""Small booking problems, in an invented country at the equator."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, timedelta

from models.facts.place import Position
from models.facts.rules import BookingRules
from models.facts.season import Span
from models.facts.work import VisitKind
from scheduler.booking.problem import Problem, Request, Stop

TODAY = date(2027, 9, 6)  # a Monday
BASE = Position(0.0, 0.0)


def day(ahead: int) -> date:
    return TODAY + timedelta(days=ahead)


def a_request(
    key: str,
    *,
    first: int = 3,
    last: int = 11,
    minutes: int = 60,
    position: Position = BASE,
    kind: VisitKind = VisitKind.SURVEY,
    chances: Mapping[date, float] | None = None,
    refused: Sequence[date] = (),
    notice_days: int = 3,
    present: date | None = None,
    because: str = "",
) -> Request:
    return Request(
        visit_key=key,
        kind=kind,
        allowed=Span(day(first), day(last)),
        minutes=minutes,
        position=position,
        chances=chances or {},
        refused=frozenset(refused),
        notice_days=notice_days,
        present=present,
        because=because,
    )


def a_problem(*requests: Request, fixed: Sequence[Stop] = (), rules: BookingRules | None = None) -> Problem:
    return Problem(TODAY, requests, tuple(fixed), BASE, rules or BookingRules())
