"""How far places lie apart, and how long the van takes."""

from __future__ import annotations

from functools import lru_cache
from math import asin, cos, radians, sin, sqrt

from models.facts.place import Position
from models.facts.rules import BookingRules

EARTH_RADIUS_KM = 6371.0088  # mean radius of the Earth: IUGG, GRS 80 (Moritz 2000)


@lru_cache(maxsize=100_000)
def great_circle_km(a: Position, b: Position) -> float:
    """Kilometres along the great circle, by the haversine formula (Sinnott 1984, Sky & Telescope 68)."""
    north, east = radians(b.latitude - a.latitude) / 2, radians(b.longitude - a.longitude) / 2
    across = cos(radians(a.latitude)) * cos(radians(b.latitude)) * sin(east) ** 2
    return 2 * EARTH_RADIUS_KM * asin(min(1.0, sqrt(sin(north) ** 2 + across)))


def road_minutes(km: float, rules: BookingRules) -> float:
    """Minutes by road for one leg of a great-circle distance: by small roads first, then by main ones."""
    road_km = km * rules.detour_factor
    local_km = min(road_km, rules.local_km)
    return 60 * (local_km / rules.travel_km_h + (road_km - local_km) / rules.trunk_km_h)


@lru_cache(maxsize=100_000)
def minutes_between(a: Position, b: Position, rules: BookingRules) -> float:
    return road_minutes(great_circle_km(a, b), rules)
