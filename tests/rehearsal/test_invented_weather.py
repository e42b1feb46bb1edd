"""Invented weather: the same for the same seed, readable as a station file, plausible, and as told."""

import itertools
from datetime import date, timedelta
from pathlib import Path
from statistics import fmean

from models.facts.place import Position
from scheduler.rehearsal.invented_weather import (
    InventedDay,
    InventedSite,
    Spell,
    invent_weather,
    write_station_files,
)
from scheduler.weather.station_file import read_station_file, read_stations

COAST = InventedSite("coast", "Coast (invented)", Position(54.0, -12.0), 5.0, sea_km=0.2)
HILL = InventedSite("hill", "Hill (invented)", Position(54.05, -11.9), 305.0, sea_km=15.0)
FIRST, LAST = date(2020, 1, 1), date(2024, 12, 31)
DRY = Spell(date(2022, 9, 1), date(2022, 9, 30), wet_chance=0.0, rain_factor=1.0, warmer_c=0.0)
COLD = Spell(date(2022, 10, 1), date(2022, 10, 31), wet_chance=0.9, rain_factor=1.5, warmer_c=-3.0)


def test_the_same_seed_gives_the_same_days() -> None:
    assert invent_weather(COAST, FIRST, LAST, 1) == invent_weather(COAST, FIRST, LAST, 1)
    assert invent_weather(COAST, FIRST, LAST, 1) != invent_weather(COAST, FIRST, LAST, 2)


def test_it_is_a_mild_wet_year_by_the_sea() -> None:
    days = invent_weather(COAST, FIRST, LAST, 1)
    means = [(day.temperature_max_c + day.temperature_min_c) / 2 for day in days]
    wet = [day.rain_mm >= 1.0 for day in days]

    # Long-term averages of Irish coast stations (Met Éireann, 1991-2020, from memory): 10 to 11 °C,
    # 750 to 1200 mm a year, 130 to 190 days of 1 mm or more.
    assert 9.5 < fmean(means) < 11.5
    assert 700 < sum(day.rain_mm for day in days) / 5 < 1300
    assert 120 < sum(wet) / 5 < 200
    # Wet days keep company: after one another is likelier than after a dry one.
    after_wet = fmean(later for earlier, later in itertools.pairwise(wet) if earlier)
    assert after_wet > fmean(wet) + 0.1


def test_the_hill_is_colder_by_the_lapse_rate_and_swings_more() -> None:
    coast, hill = invent_weather(COAST, FIRST, LAST, 1), invent_weather(HILL, FIRST, LAST, 1)
    colder = fmean(
        (low.temperature_max_c + low.temperature_min_c - high.temperature_max_c - high.temperature_min_c) / 2
        for low, high in zip(coast, hill, strict=True)
    )

    assert abs(colder - 0.0065 * 300) < 0.1  # ISO 2533: 6.5 K/km
    assert spread(hill) > spread(coast) + 1.5


def spread(days: tuple[InventedDay, ...]) -> float:
    return fmean(day.temperature_max_c - day.temperature_min_c for day in days)


def test_spells_tell_their_story_and_leave_other_days_alone() -> None:
    plain = {day.day: day for day in invent_weather(COAST, FIRST, LAST, 1)}
    told = {day.day: day for day in invent_weather(COAST, FIRST, LAST, 1, (DRY, COLD))}
    september = [told[DRY.first + timedelta(days=n)] for n in range(30)]
    october = [COLD.first + timedelta(days=n) for n in range(31)]

    assert all(day.rain_mm == 0 for day in september)
    assert sum(told[day].rain_mm > 0 for day in october) >= 24
    colder = fmean(told[day].temperature_min_c - plain[day].temperature_min_c for day in october)
    assert -4.5 < colder < -1.5
    assert all(told[day] == plain[day] for day in plain if day < DRY.first)


def test_its_files_are_station_files_and_say_that_they_are_invented(tmp_path: Path) -> None:
    write_station_files(tmp_path, (COAST, HILL), FIRST, LAST, 1, (DRY,))

    listed = read_stations(tmp_path / "stations.csv")
    assert [(each.file, each.name, each.first, each.last) for each in listed] == [
        ("coast", "Coast (invented)", FIRST, LAST),
        ("hill", "Hill (invented)", FIRST, LAST),
    ]
    record = read_station_file(tmp_path / "hill.csv")
    invented = invent_weather(HILL, FIRST, LAST, 1, (DRY,))
    assert [(d.day, d.temperature_max_c, d.temperature_min_c, d.rain_mm) for d in record.days] == [
        (d.day, d.temperature_max_c, d.temperature_min_c, d.rain_mm) for d in invented
    ]
