"""Skerravane: an invented place with an invented season of weather. Nothing of it exists.

Its coordinates lie in open water, so that no lawn of it is anybody's.
"""

from __future__ import annotations

from datetime import date, timedelta

from models.facts.place import Position
from models.facts.rules import Business
from scheduler.rehearsal.cast import Manners
from scheduler.rehearsal.invented_weather import InventedSite, Spell

SEED, CAST_SEED = 11, 25
TIME_ZONE = "Europe/Dublin"
FIRST, LAST = date(2024, 8, 1), date(2025, 5, 31)
COMERS = (("august.csv", FIRST), ("september.csv", date(2024, 9, 19)), ("autumn.csv", date(2024, 9, 24)))

# Likely dates rest on past years; the service that follows the replay lives on what lies ahead.
WEATHER_FIRST, WEATHER_LAST = date(2014, 1, 1), LAST + timedelta(days=400)

SITES = (
    InventedSite(
        "skerravane-coast", "Skerravane Strand (invented)", Position(53.90, -12.10), 8.0, sea_km=0.5
    ),
    InventedSite(
        "skerravane-valley", "Skerravane Mill (invented)", Position(53.95, -11.95), 45.0, sea_km=12.0
    ),
    InventedSite("skerravane-hill", "Skerravane Top (invented)", Position(54.00, -11.85), 310.0, sea_km=20.0),
)

SPELLS = (
    Spell(date(2024, 8, 24), date(2024, 9, 22), wet_chance=0.07, rain_factor=0.5, warmer_c=0.5),
    Spell(date(2024, 9, 23), date(2024, 10, 1), wet_chance=0.95, rain_factor=2.2, warmer_c=-1.5),
    Spell(date(2024, 10, 2), date(2024, 10, 9), wet_chance=0.10, rain_factor=0.5, warmer_c=-2.0),
    Spell(date(2024, 10, 10), date(2024, 10, 31), wet_chance=0.85, rain_factor=1.4, warmer_c=-3.2),
    Spell(date(2025, 3, 20), date(2025, 4, 18), wet_chance=0.45, rain_factor=1.0, warmer_c=-1.6),
    Spell(date(2025, 4, 19), date(2025, 5, 31), wet_chance=0.25, rain_factor=0.8, warmer_c=0.6),
)

BUSINESS = Business(
    name="Tarnwhistle Turf (invented)",
    email="office@tarnwhistle.example",
    phone="+00 0000 000000",
    base=SITES[1].position,
    time_zone=TIME_ZONE,
)

MANNERS = Manners(
    refuses="cloverdane",
    leaves="birkwhistle",
    leaves_on=date(2025, 3, 12),
    silent=frozenset({"gorsewell"}),
)
LOCKED_ONCE = frozenset({"fallowby-gate"})
