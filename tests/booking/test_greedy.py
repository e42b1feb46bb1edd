"""The greedy solver: what it must never do, and what it prefers."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from models.facts.place import Position
from models.facts.rules import BookingRules
from models.facts.season import Span
from models.facts.work import VisitKind
from scheduler.booking.greedy import KEPT, solve
from scheduler.booking.load import DayBook
from scheduler.booking.plan import Placement, Plan
from scheduler.booking.problem import Problem, Request, Stop
from tests.booking.problems import BASE, TODAY, a_problem, a_request, day

THURSDAY, FRIDAY, MONDAY, TUESDAY = day(3), day(4), day(7), day(8)
NEARBY = Position(0.0, 0.05)  # 5.6 km from the base
FAR = Position(0.0, 0.5)  # 56 km
T = VisitKind.TREATMENT


def days_of(plan: Plan) -> dict[str, date]:
    return {key: placement.day for key, placement in plan.placed.items()}


def told(plan: Plan) -> str:
    """Why the only visit of a plan has no day."""
    assert plan.placed == {}
    (why,) = plan.unplaced.values()
    return str(why)


def test_the_first_day_with_notice_is_taken_and_weekends_are_free() -> None:
    assert days_of(solve(a_problem(a_request("a", first=5)))) == {"a": MONDAY}
    plan = solve(a_problem(a_request("a")))
    assert days_of(plan) == {"a": THURSDAY}
    assert plan.placed["a"].reason == "a working day with room within 9 September to 17 September"


def test_a_refused_day_is_passed_over() -> None:
    plan = solve(a_problem(a_request("a", refused=[THURSDAY, FRIDAY])))
    assert days_of(plan) == {"a": MONDAY}


def test_short_notice_where_it_is_given() -> None:
    assert days_of(solve(a_problem(a_request("a", first=0, notice_days=1)))) == {"a": day(1)}


def test_the_most_constrained_comes_first() -> None:
    rules = BookingRules(minutes_a_day=60)
    plan = solve(
        a_problem(a_request("a", last=8), a_request("b", last=3), a_request("c", last=4), rules=rules)
    )
    assert days_of(plan) == {"b": THURSDAY, "c": FRIDAY, "a": MONDAY}


def test_near_lawns_go_on_one_day() -> None:
    there = Stop("there", TUESDAY, 60, FAR)
    near_it = Position(0.0, 0.55)
    elsewhere = Position(0.0, -0.02)
    plan = solve(
        a_problem(a_request("a", position=near_it), a_request("b", position=elsewhere), fixed=[there])
    )
    assert days_of(plan) == {"a": TUESDAY, "b": THURSDAY}
    assert plan.placed["a"].reason.endswith(", 1 near lawn on the same day")


def test_a_far_lawn_shares_a_trip_that_is_made_anyway() -> None:
    there = Stop("there", TUESDAY, 60, FAR)
    beyond_near = Position(0.0, 0.7)  # 22 km further: not near, but an hour nearer than from the base
    assert days_of(solve(a_problem(a_request("a", position=beyond_near), fixed=[there]))) == {"a": TUESDAY}


def test_a_shared_trip_is_not_worth_six_weeks_of_cooling_soil() -> None:
    shared = Stop("there", day(45), 60, FAR)
    likely = dict.fromkeys(Span(TODAY, day(55)).days(), 0.9)
    request = a_request("a", kind=T, first=0, last=50, position=FAR, chances=likely)
    assert days_of(solve(a_problem(request, fixed=[shared]))) == {"a": THURSDAY}


def test_a_likely_day_before_a_sooner_unlikely_one() -> None:
    chances = {THURSDAY: 0.3, FRIDAY: 0.4, MONDAY: 0.9}
    plan = solve(a_problem(a_request("a", kind=T, chances=chances)))
    assert plan.placed == {"a": Placement(MONDAY, "the window is likely open on 13 September (90%)")}


def test_the_best_chance_where_no_day_is_likely() -> None:
    chances = {THURSDAY: 0.3, FRIDAY: 0.45, MONDAY: 0.4}
    plan = solve(a_problem(a_request("a", kind=T, chances=chances)))
    assert plan.placed == {
        "a": Placement(FRIDAY, "the window is at the best chance left to be open on 10 September (45%)")
    }


def test_an_unlikely_day_is_not_taken_while_later_ones_are_out_of_sight() -> None:
    request = a_request("a", kind=T, chances={FRIDAY: 0.4}, last=30)
    plan = solve(a_problem(request, rules=BookingRules(horizon_days=10)))
    assert told(plan) == (
        "no day to 16 September is likely enough to be open; the days still to come would make room"
    )


def test_a_day_without_any_chance_is_never_taken() -> None:
    plan = solve(a_problem(a_request("a", kind=T, chances={THURSDAY: 0.0})))
    assert told(plan) == (
        "on no working day left within 9 September to 17 September is the window likely to be open; "
        "warmer or drier soil would make room"
    )


@pytest.mark.parametrize(
    ("request_", "why"),
    [
        (
            a_request("a", last=4, refused=[THURSDAY, FRIDAY]),
            "every working day left within 9 September to 10 September is refused; "
            "taking one of them back would make room",
        ),
        (
            a_request("a", first=5, last=6),
            "no working day is left within 11 September to 12 September; "
            "another working weekday or less notice would make room",
        ),
        (
            a_request("a", first=0, last=2),
            "no working day is left within 6 September to 8 September; "
            "another working weekday or less notice would make room",
        ),
        (
            a_request("a", minutes=500),
            "it takes 500 minutes with travel, and a day has 420; a longer working day would make room",
        ),
    ],
)
def test_a_visit_without_a_day_says_what_would_make_room(request_: Request, why: str) -> None:
    assert told(solve(a_problem(request_))) == why


def test_a_full_day_says_so() -> None:
    full = Stop("there", THURSDAY, 400, BASE)
    assert told(solve(a_problem(a_request("a", last=3), fixed=[full]))) == (
        "no day within 9 September to 9 September has 60 minutes and the way there left of its 420; "
        "a longer working day or another working weekday would make room"
    )


def test_a_day_that_holds_is_kept_even_where_it_is_too_full_by_now() -> None:
    full = Stop("there", MONDAY, 400, BASE)
    plan = solve(a_problem(a_request("a", present=MONDAY), fixed=[full]))
    assert plan.placed == {"a": Placement(MONDAY, KEPT)}


def test_a_day_that_cannot_hold_is_changed_and_says_why() -> None:
    moved = a_request("a", present=FRIDAY, refused=[FRIDAY], because="10 September is refused by the client")
    plan = solve(a_problem(moved))
    assert plan.placed == {
        "a": Placement(
            THURSDAY,
            "10 September is refused by the client; "
            "a working day with room within 9 September to 17 September",
        )
    }


WEEK = [day(ahead) for ahead in range(15)]
places = st.sampled_from([BASE, NEARBY, Position(0.1, 0.1), Position(-0.3, 0.2), FAR])
requests = st.builds(
    lambda key, first, length, minutes, position, kind, chances, refused: a_request(
        f"v{key}",
        first=first,
        last=first + length,
        minutes=minutes,
        position=position,
        kind=kind,
        chances=dict(zip(WEEK, chances, strict=True)),
        refused=refused,
    ),
    st.integers(0, 30),
    st.integers(0, 8),
    st.integers(0, 6),
    st.integers(20, 430),
    places,
    st.sampled_from([VisitKind.SURVEY, VisitKind.TREATMENT]),
    st.lists(st.sampled_from([0.0, 0.2, 0.5, 0.9]), min_size=15, max_size=15),
    st.lists(st.sampled_from(WEEK), max_size=4),
)
problems = st.lists(requests, max_size=9, unique_by=lambda request: request.visit_key)


@given(problems)
def test_every_placed_visit_may_be_there_and_no_day_is_too_full(made: list[Request]) -> None:
    problem = a_problem(*made)
    plan = solve(problem)
    assert plan.placed.keys() | plan.unplaced.keys() == {request.visit_key for request in made}
    assert not plan.placed.keys() & plan.unplaced.keys()
    for request in made:
        if (placement := plan.placed.get(request.visit_key)) is None:
            continue
        assert placement.day in request.allowed
        assert placement.day.weekday() < 5
        assert placement.day >= day(request.notice_days)
        assert placement.day not in request.refused
        assert request.chance(placement.day) > 0
    assert within_minutes(problem, days_of(plan))


@given(st.data())
def test_the_order_of_requests_does_not_matter(data: st.DataObject) -> None:
    made = data.draw(problems)
    assert solve(a_problem(*data.draw(st.permutations(made)))) == solve(a_problem(*made))


@given(problems)
def test_nobody_is_left_out_who_still_fits(made: list[Request]) -> None:
    problem = a_problem(*made)
    plan = solve(problem)
    for request in made:
        if request.visit_key in plan.unplaced:
            for free in problem.choice(request).days:
                assert not within_minutes(problem, {**days_of(plan), request.visit_key: free})


@settings(deadline=None)  # every plan there is takes its time
@given(st.lists(st.integers(3, 8), min_size=1, max_size=5), st.sampled_from([60, 120]))
def test_as_many_are_placed_as_any_plan_could(deadlines: list[int], minutes_a_day: int) -> None:
    """Equal visits with a common first day: the fewest days first is the earliest deadline first, which
    no plan beats (Jackson 1955). Compared with every possible plan."""
    made = [a_request(f"v{number}", last=last) for number, last in enumerate(deadlines)]
    problem = a_problem(*made, rules=BookingRules(minutes_a_day=minutes_a_day))
    assert len(solve(problem).placed) == most_by_brute_force(problem)


def most_by_brute_force(problem: Problem) -> int:
    choices = [(None, *problem.choice(request).days) for request in problem.requests]
    keys = [request.visit_key for request in problem.requests]
    plans = (
        {key: chosen for key, chosen in zip(keys, days, strict=True) if chosen is not None}
        for days in product(*choices)
    )
    return max(len(days) for days in plans if within_minutes(problem, days))


def within_minutes(problem: Problem, days: dict[str, date]) -> bool:
    """Each day refilled from nothing: does it stay within its minutes, travel included?"""
    for used in set(days.values()):
        book, there = (
            DayBook(BASE, problem.rules),
            [request for request in problem.requests if days.get(request.visit_key) == used],
        )
        for request in there[:-1]:
            book.add(used, request.minutes, request.position)
        last = there[-1]
        if book.minutes_with(used, last.minutes, last.position) > problem.rules.minutes_a_day:
            return False
    return True


def test_a_request_holds_only_while_nothing_speaks_against_its_day() -> None:
    held = a_request("a", present=MONDAY)
    assert held.holds
    assert not replace(held, because="13 September is refused by the client").holds
    assert not a_request("a").holds
