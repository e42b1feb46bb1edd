"""Distances against published values, and the load of a day against sums by hand."""

from __future__ import annotations

import math
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from models.agronomy.distance import EARTH_RADIUS_KM, great_circle_km, road_minutes
from models.facts.place import Position
from models.facts.rules import BookingRules
from scheduler.booking.load import DayBook, travel_minutes

QUARTER_KM = EARTH_RADIUS_KM * math.pi / 2
BASE = Position(0.0, 0.0)
RULES = BookingRules()


def north(km: float) -> Position:
    """A place due north of the base."""
    return Position(math.degrees(km / EARTH_RADIUS_KM), 0.0)


def south(km: float) -> Position:
    return Position(-math.degrees(km / EARTH_RADIUS_KM), 0.0)


def test_los_angeles_to_new_york() -> None:
    # E. Williams, Aviation Formulary V1.46, worked examples: LAX (33°57'N, 118°24'W) to
    # JFK (40°38'N, 73°47'W) is 0.623585 radians; the number is from memory.
    lax, jfk = Position(33 + 57 / 60, -(118 + 24 / 60)), Position(40 + 38 / 60, -(73 + 47 / 60))
    assert great_circle_km(lax, jfk) / EARTH_RADIUS_KM == pytest.approx(0.623585, abs=1e-6)


def test_a_minute_of_latitude_is_a_nautical_mile() -> None:
    # The international nautical mile, 1.852 km, stands for a minute of arc (Monaco 1929).
    assert great_circle_km(Position(52.0, -6.0), Position(52 + 1 / 60, -6.0)) == pytest.approx(
        1.852, rel=1e-3
    )


@pytest.mark.parametrize(
    ("a", "b", "km"),
    [
        (Position(0, 0), Position(90, 0), QUARTER_KM),
        (Position(0, 0), Position(0, 180), 2 * QUARTER_KM),
        (Position(0, 179.5), Position(0, -179.5), QUARTER_KM / 90),
        (Position(52.1, -6.4), Position(52.1, -6.4), 0.0),
    ],
)
def test_round_parts_of_the_globe(a: Position, b: Position, km: float) -> None:
    assert great_circle_km(a, b) == pytest.approx(km)


places = st.builds(Position, st.floats(-90, 90), st.floats(-180, 180))


@given(places, places, places)
def test_there_is_as_far_as_back_and_no_detour_is_shorter(a: Position, b: Position, c: Position) -> None:
    assert great_circle_km(a, b) == pytest.approx(great_circle_km(b, a), abs=1e-6)
    assert great_circle_km(a, c) <= great_circle_km(a, b) + great_circle_km(b, c) + 1e-6


@pytest.mark.parametrize(
    ("km", "minutes"),
    [
        (0, 0),
        (10, 19.5),  # 13 km by road at 40 km/h
        (20, 34.5),  # 26 km: 20 at 40 km/h, 6 at 80 km/h
        (115, 127.125),  # 149.5 km; Dublin to Wexford is about two hours' drive (from memory)
    ],
)
def test_minutes_by_road(km: float, minutes: float) -> None:
    assert road_minutes(km, RULES) == pytest.approx(minutes)


def test_one_stop_is_there_and_back() -> None:
    assert travel_minutes(BASE, [north(10)], RULES) == pytest.approx(2 * 19.5)


def test_stops_near_each_other_still_cost_the_way_out_and_home() -> None:
    # 20 km out, 10 between, 30 home (39 km by road: 20 and 19)
    assert travel_minutes(BASE, [north(30), north(20)], RULES) == pytest.approx(34.5 + 19.5 + 44.25)


def test_no_stop_no_way() -> None:
    assert travel_minutes(BASE, [], RULES) == 0


@given(st.permutations([north(3), north(9), south(4), Position(0.05, 0.05)]))
def test_the_order_of_stops_does_not_matter(stops: list[Position]) -> None:
    first = travel_minutes(BASE, [north(3), north(9), south(4), Position(0.05, 0.05)], RULES)
    assert travel_minutes(BASE, stops, RULES) == pytest.approx(first)


def test_a_day_carries_minutes_and_the_way() -> None:
    book, day = DayBook(BASE, RULES), date(2027, 9, 14)
    book.add(day, 100, north(10))
    # 19.5 minutes out, 19.5 on to the second, 34.5 home
    assert book.minutes_with(day, 50, north(20)) == pytest.approx(150 + 73.5)
    assert book.more_travel(day, north(20)) == pytest.approx(73.5 - 39)
    assert book.near(day, north(20)) == 1  # 10 km, near is up to 12
    assert book.near(day, north(23)) == 0
    assert book.has_room(day, 420 - 100 - 74, north(20))
    assert not book.has_room(day, 420 - 100 - 73, north(20))
