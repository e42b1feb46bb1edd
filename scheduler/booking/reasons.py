"""The sentences of a plan: why this day, or why none and what would make room. For any solver."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from models.facts.work import VisitKind
from models.units import day_words
from scheduler.booking.load import DayBook
from scheduler.booking.plan import Unplaced
from scheduler.booking.problem import Problem, Request


def why_day(problem: Problem, request: Request, day: date, book: DayBook) -> str:
    """Why the request has `day`, before it is entered in the book."""
    parts = [f"a working day with room within {_span_words(problem, request)}"]
    if request.kind is VisitKind.TREATMENT:
        chance, least = request.chance(day), problem.rules.least_chance
        likely = "likely open" if chance >= least else "at the best chance left to be open"
        parts = [f"the window is {likely} on {day_words(day)} ({chance:.0%})"]
    if near := book.near(day, request.position):
        parts.append(f"{near} near {'lawn' if near == 1 else 'lawns'} on the same day")
    return _after_what_was(request, ", ".join(parts))


def why_none(problem: Problem, request: Request) -> Unplaced:
    """Why the request has no day in a plan that left it out."""
    choice, span = problem.choice(request), _span_words(problem, request)
    why, remedy = (
        _no_room(problem, request, choice.days, span) if choice.days else _no_day(problem, request, span)
    )
    return Unplaced(_after_what_was(request, why), remedy)


def _no_day(problem: Problem, request: Request, span: str) -> tuple[str, str]:
    working = problem.working_days(request)
    if not working:
        return f"no working day is left within {span}", "another working weekday or less notice"
    if all(day in request.refused for day in working):
        return f"every working day left within {span} is refused", "taking one of them back"
    if request.allowed.last > problem.horizon:
        return f"no day to {day_words(problem.horizon)} is likely enough to be open", "the days still to come"
    return f"on no working day left within {span} is the window likely to be open", "warmer or drier soil"


def _no_room(problem: Problem, request: Request, days: Sequence[date], span: str) -> tuple[str, str]:
    limit = problem.rules.minutes_a_day
    alone = DayBook(problem.base, problem.rules).minutes_with(days[0], request.minutes, request.position)
    if alone > limit:
        return f"it takes {alone:.0f} minutes with travel, and a day has {limit}", "a longer working day"
    why = f"no day within {span} has {request.minutes} minutes and the way there left of its {limit}"
    return why, "a longer working day or another working weekday"


def _after_what_was(request: Request, sentence: str) -> str:
    return f"{request.because}; {sentence}" if request.because else sentence


def _span_words(problem: Problem, request: Request) -> str:
    last = min(request.allowed.last, problem.horizon)
    return f"{day_words(request.allowed.first)} to {day_words(last)}"
