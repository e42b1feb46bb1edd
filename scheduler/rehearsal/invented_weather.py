"""Invented daily weather of an invented place, the same for the same seed. It is nobody's record.

A yearly wave plus a first-order autoregression for temperature, a two-state chain for wet and dry days;
sites differ by distance to the sea and by height. All numbers are engineering choices that give a mild,
wet, north-west European year; only the lapse rate is a standard (ISO 2533: 6.5 K/km).
"""

from __future__ import annotations

import csv
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path

from models.facts.place import Position
from scheduler.rehearsal.chance import happens, normal, uniform

LAPSE_C_PER_M = 0.0065
YEAR_DAYS = 365.25
COLDEST_DAY = 28  # of the year
KEPT = 0.78  # of yesterday's departure from the season
DEPARTURE_C = 2.1
WET_AFTER_WET, WET_AFTER_DRY = 0.70, 0.33
RAIN_MM = 5.0
LISTED = ("file", "name", "latitude", "longitude", "elevation_m", "first", "last")
COLUMNS = ("date", "temperature_max_c", "temperature_min_c", "rain_mm")
INLAND_KM = 25.0  # the sea is felt over this distance


@dataclass(frozen=True, slots=True)
class InventedSite:
    """A place that weather is invented for. `name` is to say that it is invented."""

    file: str
    name: str
    position: Position
    elevation_m: float
    sea_km: float

    @property
    def inland(self) -> float:
        """0 on the shore, near 1 far from it."""
        return 1 - math.exp(-self.sea_km / INLAND_KM)


@dataclass(frozen=True, slots=True)
class Spell:
    """Days of the story: `wet_chance` replaces the chain's, `rain_factor` and `warmer_c` change the day."""

    first: date
    last: date
    wet_chance: float
    rain_factor: float
    warmer_c: float


@dataclass(frozen=True, slots=True)
class Air:
    """One day over the whole region."""

    day: date
    departure_c: float
    rain_mm: float


@dataclass(frozen=True, slots=True)
class InventedDay:
    day: date
    temperature_max_c: float
    temperature_min_c: float
    rain_mm: float


def invent_weather(
    site: InventedSite, first: date, last: date, seed: int, spells: Sequence[Spell] = ()
) -> tuple[InventedDay, ...]:
    """The site's days from `first` to `last`, both included. Neighbouring sites share their weather."""
    return tuple(_at_site(site, air, seed) for air in _region(first, last, seed, spells))


def write_station_files(
    folder: Path, sites: Sequence[InventedSite], first: date, last: date, seed: int, spells: Sequence[Spell]
) -> None:
    """Write `stations.csv` and one station file a site into `folder`."""
    folder.mkdir(parents=True, exist_ok=True)
    listing = [
        (site.file, site.name, site.position.latitude, site.position.longitude, site.elevation_m, first, last)
        for site in sites
    ]
    _write(folder / "stations.csv", LISTED, listing)
    for site in sites:
        days = invent_weather(site, first, last, seed, spells)
        rows = [(day.day, day.temperature_max_c, day.temperature_min_c, day.rain_mm) for day in days]
        _write(folder / f"{site.file}.csv", COLUMNS, rows)


def _region(first: date, last: date, seed: int, spells: Sequence[Spell]) -> Iterator[Air]:
    departure_c, wet = 0.0, False
    for offset in range((last - first).days + 1):
        day = first + timedelta(days=offset)
        spell = next((spell for spell in spells if spell.first <= day <= spell.last), None)
        fresh = DEPARTURE_C * math.sqrt(1 - KEPT**2) * normal(seed, "departure", day)
        departure_c = KEPT * departure_c + fresh
        chance = WET_AFTER_WET if wet else WET_AFTER_DRY
        wet = happens(chance if spell is None else spell.wet_chance, seed, "wet", day)
        rain_mm = -RAIN_MM * math.log(uniform(seed, "rain", day)) if wet else 0.0
        if spell is None:
            yield Air(day, departure_c, rain_mm)
        else:
            yield Air(day, departure_c + spell.warmer_c, rain_mm * spell.rain_factor)


def _at_site(site: InventedSite, air: Air, seed: int) -> InventedDay:
    wave = math.cos(2 * math.pi * (air.day.timetuple().tm_yday - COLDEST_DAY) / YEAR_DAYS)
    swing_c = 4.3 + 1.9 * site.inland
    mean_c = 10.7 - LAPSE_C_PER_M * site.elevation_m - swing_c * wave + air.departure_c
    range_c = (4.6 + 4.6 * site.inland) * (1 - 0.25 * wave) * (0.7 if air.rain_mm > 0 else 1.2)
    range_c *= math.exp(0.2 * normal(seed, "range", site.file, air.day))
    local = 0.75 + 0.5 * uniform(seed, "shower", site.file, air.day)
    rain_mm = air.rain_mm * local * (1 + site.elevation_m / 500)
    return InventedDay(
        day=air.day,
        temperature_max_c=round(mean_c + range_c / 2, 1),
        temperature_min_c=round(mean_c - range_c / 2, 1),
        rain_mm=round(rain_mm, 1),
    )


def _write(path: Path, header: Sequence[str], rows: Sequence[Sequence[object]]) -> None:
    with path.open("w", newline="", encoding="utf-8") as file:
        writer = csv.writer(file)
        writer.writerow(header)
        writer.writerows(rows)
