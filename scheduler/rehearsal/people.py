"""An invented cast: clients and lawns near weather sites. Nobody here exists."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from models.agronomy.distance import great_circle_km, road_minutes
from models.facts.place import Client, Lawn, Position, Site, Texture, Zone
from models.facts.rules import BookingRules, Business, BusinessRules
from scheduler.rehearsal.chance import happens, normal, one_of, uniform, whole

GIVEN = (
    "Alda", "Berrin", "Corvane", "Delsie", "Ebbo", "Fenna", "Garrick", "Hesper", "Ivarn", "Jorunn",
    "Kessa", "Lorcan", "Maren", "Nevin", "Orla", "Perrin", "Quilla", "Rohan", "Sabeth", "Tobin",
)  # fmt: skip
FAMILY = (
    "Ashgrove", "Birkwhistle", "Cloverdane", "Dunmarrow", "Eastermere", "Fallowby", "Gorsewell", "Harrowmint",
    "Inglebrook", "Juniperry", "Knapweed", "Larkhollow", "Meadowcroke", "Nettlestane", "Oxlipman",
    "Pimpernell", "Quakegrass", "Rushmantle", "Sorrelby", "Thistlemoor",
)  # fmt: skip

NEAR_KM = 10.0
KM_A_DEGREE = 111.2  # of latitude, on a sphere of 6371 km
JOIN_WITHIN_DAYS = 120
WITHOUT_TAP = 0.12
WITHOUT_MAIL = 0.1
SECOND_LAWN_EVERY = 10
TRAITS = (
    "",
    "",
    "",
    "gate code with the neighbour",
    "dog in the garden",
    "robot mower",
    "shaded by conifers",
)


@dataclass(frozen=True, slots=True)
class Arrival:
    """A client who joins on a day, with the lawns of that day."""

    on: date
    client: Client
    lawns: tuple[Lawn, ...]


def invented_business(sites: Sequence[Site], time_zone: str) -> Business:
    """Its base lies between the sites; the drive to the farthest and home comes on top of the day's work.

    A rehearsal's sites lie as far apart as there are records: without that, nobody could serve them.
    """
    base = Position(
        sum(site.position.latitude for site in sites) / len(sites),
        sum(site.position.longitude for site in sites) / len(sites),
    )
    usual = BookingRules()
    farthest_km = max(great_circle_km(base, site.position) for site in sites) + NEAR_KM
    there_and_home = math.ceil(2 * road_minutes(farthest_km, usual))
    booking = replace(usual, minutes_a_day=usual.minutes_a_day + there_and_home)
    return Business(
        name="Tarnwhistle Turf (invented, rehearsal)",
        email="office@tarnwhistle.example",
        phone="+00 0000 000000",
        base=base,
        time_zone=time_zone,
        rules=BusinessRules(booking=booking),
    )


def invented_cast(
    sites: Sequence[Site], lawns: int, seed: int, first: date, time_zone: str
) -> tuple[Arrival, ...]:
    """`lawns` lawns in equal shares near the sites, of clients who join over the first four months.

    Every tenth lawn is the second one of the client before it. The same arguments give the same cast.
    """
    found: list[Arrival] = []
    for number in range(lawns):
        site = sites[number * len(sites) // lawns]
        if number % SECOND_LAWN_EVERY == SECOND_LAWN_EVERY - 1:
            before = found[-1]
            second = _lawn(before.client, number, site, seed)
            found[-1] = Arrival(before.on, before.client, (*before.lawns, second))
        else:
            found.append(_arrival(number, site, seed, first, time_zone))
    return tuple(found)


def _arrival(number: int, site: Site, seed: int, first: date, time_zone: str) -> Arrival:
    given, family = one_of(GIVEN, seed, "given", number), one_of(FAMILY, seed, "family", number)
    key = f"{given}-{family}-{number + 1:03d}".lower()
    client = Client(
        key=key,
        name=f"{given} {family}",
        email=None if happens(WITHOUT_MAIL, seed, "mail", key) else f"{key}@clients.example",
        phone=f"+00 0000 {number + 1:06d}",
        time_zone=time_zone,
    )
    on = first + timedelta(days=whole(0, JOIN_WITHIN_DAYS, seed, "joins", key))
    return Arrival(on, client, (_lawn(client, number, site, seed),))


def _lawn(client: Client, number: int, site: Site, seed: int) -> Lawn:
    key = f"{client.key}-lawn-{number + 1:03d}"
    return Lawn(
        key=key,
        client_key=client.key,
        name=f"{client.name.split()[1]} lawn {number + 1}",
        position=_near(site.position, seed, key),
        site_key=site.key,
        texture=one_of((Texture.LOAM, Texture.LOAM, Texture.SAND, Texture.CLAY), seed, "texture", key),
        zones=_zones(seed, key),
        tap_litres_per_minute=_tap(seed, key),
        traits=one_of(TRAITS, seed, "traits", key),
    )


def _near(centre: Position, seed: int, key: str) -> Position:
    """Evenly spread over a disc of 10 km."""
    away_km = NEAR_KM * math.sqrt(uniform(seed, "away", key))
    bearing = 2 * math.pi * uniform(seed, "bearing", key)
    north = away_km * math.cos(bearing) / KM_A_DEGREE
    east = away_km * math.sin(bearing) / (KM_A_DEGREE * math.cos(math.radians(centre.latitude)))
    return Position(round(centre.latitude + north, 5), round(centre.longitude + east, 5))


def _zones(seed: int, key: str) -> tuple[Zone, ...]:
    area_m2 = float(min(400, max(60, round(150 * math.exp(0.45 * normal(seed, "area", key))))))
    if area_m2 < 120 or happens(0.6, seed, "zones", key):
        return (Zone("lawn", area_m2),)
    front_m2 = float(round(area_m2 * (0.25 + 0.3 * uniform(seed, "front", key))))
    return (Zone("front", front_m2), Zone("back", area_m2 - front_m2))


def _tap(seed: int, key: str) -> float | None:
    return None if happens(WITHOUT_TAP, seed, "tap", key) else float(whole(8, 18, seed, "flow", key))
