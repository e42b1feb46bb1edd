"""What a working day carries: its stops, their minutes and the way between them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from datetime import date

from models.facts.place import Position
from models.facts.rules import BookingRules
from scheduler.booking.distance import great_circle_km, road_minutes


def travel_km(base: Position, stops: Sequence[Position]) -> float:
    """Great-circle kilometres of a day: the least that joins base and stops, and the way home.

    The joining is a minimum spanning tree (Prim 1957); home is the way from the stop joined last. For
    one stop that is there and back. It is an estimate of the load, not a route.
    """
    reach = {stop: great_circle_km(base, stop) for stop in stops}
    total, last = 0.0, base
    while reach:
        last = min(reach, key=lambda stop: (reach[stop], stop.latitude, stop.longitude))
        total += reach.pop(last)
        reach = {stop: min(km, great_circle_km(last, stop)) for stop, km in reach.items()}
    return total + great_circle_km(last, base)


class DayBook:
    """The days as they fill up while a plan is made."""

    def __init__(self, base: Position, rules: BookingRules) -> None:
        self.base = base
        self.rules = rules
        self._places: dict[date, list[Position]] = defaultdict(list)
        self._minutes: dict[date, int] = defaultdict(int)

    def add(self, day: date, minutes: int, place: Position) -> None:
        self._places[day].append(place)
        self._minutes[day] += minutes

    def minutes_with(self, day: date, minutes: int, place: Position) -> float:
        """Minutes of the day if one more stop came to it, travel included."""
        km = travel_km(self.base, [*self._places.get(day, ()), place])
        return self._minutes.get(day, 0) + minutes + road_minutes(km, self.rules)

    def has_room(self, day: date, minutes: int, place: Position) -> bool:
        limit = self.rules.minutes_a_day
        on_site = self._minutes.get(day, 0) + minutes
        return on_site <= limit and self.minutes_with(day, minutes, place) <= limit

    def near(self, day: date, place: Position) -> int:
        """How many stops of the day lie near."""
        there = self._places.get(day, ())
        return sum(great_circle_km(place, other) <= self.rules.near_km for other in there)
