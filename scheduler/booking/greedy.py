"""A plain solver: days that hold stay; the rest are given out one by one, the most constrained first."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from scheduler.booking.load import DayBook
from scheduler.booking.plan import Placement, Plan, Unplaced
from scheduler.booking.problem import Problem, Request
from scheduler.booking.reasons import why_day, why_none

# What weighs as much as a chance, all engineering choices: a trip of its own may wait some three weeks to be
# shared, but never from early September into the cold end of October.
NEAR_WORTH = 0.15
TRAVEL_COSTS = 0.10 / 60  # a minute more on the road
LATER_COSTS = 0.02  # a day: soil cools in autumn, grubs grow tougher in spring
KEPT = "keeps its day"


def solve(problem: Problem) -> Plan:
    """The same problem gives the same plan, whatever the order of its requests."""
    book = DayBook(problem.base, problem.rules)
    for stop in problem.fixed:
        book.add(stop.day, stop.minutes, stop.position)
    placed: dict[str, Placement] = {}
    for request in problem.requests:
        if request.present is not None and request.holds:
            book.add(request.present, request.minutes, request.position)
            placed[request.visit_key] = Placement(request.present, KEPT)
    unplaced: dict[str, Unplaced] = {}
    for request in _most_constrained_first(problem):
        day = _best_day(problem, request, book)
        if day is None:
            unplaced[request.visit_key] = why_none(problem, request)
            continue
        placed[request.visit_key] = Placement(day, why_day(problem, request, day, book))
        book.add(day, request.minutes, request.position)
    return Plan(placed, unplaced)


def _most_constrained_first(problem: Problem) -> list[Request]:
    def rank(request: Request) -> tuple[int, int, str]:
        choice = problem.choice(request)
        return len(choice.likely or choice.lesser), -request.minutes, request.visit_key

    return sorted((request for request in problem.requests if not request.holds), key=rank)


def _best_day(problem: Problem, request: Request, book: DayBook) -> date | None:
    choice = problem.choice(request)
    likely = _with_room(request, choice.likely, book)
    if likely:
        return max(likely, key=lambda day: (_worth(request, day, likely[0], book), -day.toordinal()))
    lesser = _with_room(request, choice.lesser, book)
    if not lesser:
        return None
    best = max(request.chance(day) for day in lesser)
    equal = [day for day in lesser if request.chance(day) == best]
    return max(equal, key=lambda day: (_worth(request, day, equal[0], book), -day.toordinal()))


def _with_room(request: Request, days: Sequence[date], book: DayBook) -> list[date]:
    return [day for day in days if book.has_room(day, request.minutes, request.position)]


def _worth(request: Request, day: date, first: date, book: DayBook) -> float:
    near = NEAR_WORTH if book.near(day, request.position) else 0.0
    travel = TRAVEL_COSTS * book.more_travel(day, request.position)
    return request.chance(day) + near - travel - LATER_COSTS * (day - first).days
