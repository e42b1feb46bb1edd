"""Invented sites, and days of invented weather, that the weather tests share."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC, date, datetime, timedelta
from math import pi, sin

from models.facts.place import Position, Site
from models.facts.rules import Business
from models.facts.weather import WeatherDay
from models.store.engine import Store
from models.store.people import save_business, save_sites

VALLEY = Site("valley", "Valley", Position(53.5, -6.25), 71.0, "station-file", "valley")
HILL = Site("hill", "Hill", Position(52.3, -6.5), 62.0, "station-file", "hill")
TARNWHISTLE = Business(
    "Tarnwhistle Turf", "office@tarnwhistle.example", "000", Position(53.4, -6.3), "Europe/Dublin"
)


def set_up(store: Store, *sites: Site) -> None:
    with store.write() as connection:
        save_business(connection, TARNWHISTLE)
        save_sites(connection, sites)


def morning(day: date) -> datetime:
    """When the day's steps run, in winter time of the business."""
    return datetime(day.year, day.month, day.day, 4, 30, tzinfo=UTC)


def days_from(first: date, count: int) -> tuple[date, ...]:
    return tuple(first + timedelta(n) for n in range(count))


def an_invented_day(day: date) -> WeatherDay:
    """A yearly wave with some unrest on it; every value in tenths, as stations write them."""
    number = day.toordinal()
    mean = 10 - 6 * sin(2 * pi * (number % 365 + 70) / 365) + (number * 7919 % 61 - 30) / 10
    range_ = 3 + number * 104729 % 90 / 10
    rain = max(0, number * 15485863 % 100 - 60) / 4
    return WeatherDay(
        day, round(mean - range_ / 2, 1), round(mean + range_ / 2, 1), rain, source="station-file valley"
    )


def invented(days: Iterable[date]) -> tuple[WeatherDay, ...]:
    return tuple(an_invented_day(day) for day in days)
