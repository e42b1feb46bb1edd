"""What a working day carries: its stops, their minutes and the way between them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from datetime import date

from models.agronomy.distance import great_circle_km, minutes_between
from models.facts.place import Position
from models.facts.rules import BookingRules


def travel_minutes(base: Position, stops: Sequence[Position], rules: BookingRules) -> float:
    """Minutes on the road in a day: the least that joins base and stops, and the way home.

    The joining is a minimum spanning tree (Prim 1957); home is the way from the stop joined last. For
    one stop that is there and back. It is an estimate of the load, not a route.
    """
    reach = {stop: minutes_between(base, stop, rules) for stop in stops}
    total, last = 0.0, base
    while reach:
        last = min(reach, key=lambda stop: (reach[stop], stop.latitude, stop.longitude))
        total += reach.pop(last)
        reach = {stop: min(far, minutes_between(last, stop, rules)) for stop, far in reach.items()}
    return total + minutes_between(last, base, rules)


class DayBook:
    """The days as they fill up while a plan is made."""

    def __init__(self, base: Position, rules: BookingRules) -> None:
        self.base = base
        self.rules = rules
        self._places: dict[date, list[Position]] = defaultdict(list)
        self._on_site: dict[date, int] = defaultdict(int)
        self._travel: dict[date, float] = defaultdict(float)

    def add(self, day: date, minutes: int, place: Position) -> None:
        self._places[day].append(place)
        self._on_site[day] += minutes
        self._travel[day] = travel_minutes(self.base, self._places[day], self.rules)

    def travel_with(self, day: date, place: Position) -> float:
        """Minutes on the road if one more stop came to the day."""
        return travel_minutes(self.base, [*self._places.get(day, ()), place], self.rules)

    def more_travel(self, day: date, place: Position) -> float:
        """Minutes on the road that one more stop adds to the day."""
        return self.travel_with(day, place) - self._travel.get(day, 0.0)

    def minutes_with(self, day: date, minutes: int, place: Position) -> float:
        """Minutes of the day if one more stop came to it, travel included."""
        return self._on_site.get(day, 0) + minutes + self.travel_with(day, place)

    def has_room(self, day: date, minutes: int, place: Position) -> bool:
        limit = self.rules.minutes_a_day
        on_site = self._on_site.get(day, 0) + minutes
        return on_site <= limit and self.minutes_with(day, minutes, place) <= limit

    def near(self, day: date, place: Position) -> int:
        """How many stops of the day lie near."""
        there = self._places.get(day, ())
        return sum(great_circle_km(place, other) <= self.rules.near_km for other in there)
