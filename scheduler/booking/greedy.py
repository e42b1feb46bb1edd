"""A plain solver: days that hold stay; the rest are given out one by one, the most constrained first."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from models.facts.work import VisitKind
from models.units import day_words
from scheduler.booking.load import DayBook
from scheduler.booking.plan import Placement, Plan
from scheduler.booking.problem import Problem, Request

NEAR_WORTH = 0.25  # a near lawn on the same day is worth as much as 25 % of chance (engineering choice)
TRAVEL_COSTS = 0.25 / 60  # an hour more on the road costs as much (engineering choice)
LATER_COSTS = 0.01  # a day: soil cools in autumn, grubs grow tougher in spring (engineering choice)
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
    unplaced: dict[str, str] = {}
    for request in _most_constrained_first(problem):
        day = _best_day(problem, request, book)
        if day is None:
            unplaced[request.visit_key] = _told(request, _why_none(problem, request, book))
            continue
        placed[request.visit_key] = Placement(day, _told(request, _why(problem, request, day, book)))
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


def _told(request: Request, sentence: str) -> str:
    return f"{request.because}; {sentence}" if request.because else sentence


def _why(problem: Problem, request: Request, day: date, book: DayBook) -> str:
    parts = [f"a working day with room within {_span_words(problem, request)}"]
    if request.kind is VisitKind.TREATMENT:
        chance, least = request.chance(day), problem.rules.least_chance
        likely = "likely open" if chance >= least else "at the best chance left to be open"
        parts = [f"the window is {likely} on {day_words(day)} ({chance:.0%})"]
    if near := book.near(day, request.position):
        parts.append(f"{near} near {'lawn' if near == 1 else 'lawns'} on the same day")
    return ", ".join(parts)


def _why_none(problem: Problem, request: Request, book: DayBook) -> str:
    choice, span = problem.choice(request), _span_words(problem, request)
    if choice.days:
        return _no_room(problem, request, choice.days, span)
    if not (working := problem.working_days(request)):
        return f"no working day is left within {span}; another working weekday or less notice would make room"
    if all(day in request.refused for day in working):
        return f"every working day left within {span} is refused; taking one back would make room"
    if request.allowed.last > problem.horizon:
        return f"no day to {day_words(problem.horizon)} is likely enough to be open; later days are to come"
    return (
        f"on no working day left within {span} is the window likely to be open; warmer soil would make room"
    )


def _no_room(problem: Problem, request: Request, days: Sequence[date], span: str) -> str:
    limit = problem.rules.minutes_a_day
    alone = DayBook(problem.base, problem.rules).minutes_with(days[0], request.minutes, request.position)
    if alone > limit:
        return (
            f"it takes {alone:.0f} minutes with travel, and a day has {limit}; a longer day would make room"
        )
    return (
        f"no day within {span} has {request.minutes} minutes and the way there left of its {limit}; "
        "a longer day or another working weekday would make room"
    )


def _span_words(problem: Problem, request: Request) -> str:
    last = min(request.allowed.last, problem.horizon)
    return f"{day_words(request.allowed.first)} to {day_words(last)}"
