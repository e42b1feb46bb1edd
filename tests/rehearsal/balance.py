"""A water balance of its own for the fortnight after a treatment, from a station's rain and temperatures.

Written out here from FAO-56 (Allen et al. 1998), so that advice is judged by nothing it was made with.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from datetime import date, timedelta

from models.facts.place import Texture
from models.facts.weather import WeatherDay

# Available water of 5 cm, mm: 0.08, 0.17 and 0.16 m3/m3, within FAO-56 table 19 (from memory).
CAPACITY_MM = {Texture.SAND: 4.0, Texture.LOAM: 8.5, Texture.CLAY: 8.0}
FORTNIGHT = 14  # two weeks: common practice
DAY = timedelta(days=1)


def extraterrestrial_mm(day: date, latitude_degrees: float) -> float:
    """FAO-56 equations 21 to 25; equation 20: 0.408 mm of evaporation a MJ/m2."""
    latitude, number = math.radians(latitude_degrees), day.timetuple().tm_yday
    distance = 1 + 0.033 * math.cos(2 * math.pi * number / 365)
    declination = 0.409 * math.sin(2 * math.pi * number / 365 - 1.39)
    sunset = math.acos(-math.tan(latitude) * math.tan(declination))
    through = sunset * math.sin(latitude) * math.sin(declination)
    through += math.cos(latitude) * math.cos(declination) * math.sin(sunset)
    return 0.408 * 24 * 60 / math.pi * 0.0820 * distance * through


def hargreaves_mm(weather: WeatherDay, latitude_degrees: float) -> float:
    """FAO-56 equation 52."""
    least_c, most_c = weather.temperature_min_c, weather.temperature_max_c
    assert least_c is not None
    assert most_c is not None
    mean_c = (least_c + most_c) / 2
    return (
        0.0023
        * (mean_c + 17.8)
        * math.sqrt(most_c - least_c)
        * extraterrestrial_mm(weather.day, latitude_degrees)
    )


def deficits_mm(
    weather: Mapping[date, WeatherDay],
    latitude_degrees: float,
    texture: Texture,
    treated_on: date,
    watered_mm: Mapping[date, float],
) -> dict[date, float]:
    """What was missing on the morning of each day of the fortnight, mm.

    Turf draws 0.85 of the reference; showers below 2 mm stay on the leaves, four fifths of other rain
    goes in: the usual rules of `models/facts/rules.py`.
    """
    found, deficit = {}, 0.0
    for number in range(1, FORTNIGHT + 1):
        morning = treated_on + number * DAY
        if number > 1:
            before = weather[morning - DAY]
            assert before.rain_mm is not None
            rain_mm = 0.8 * before.rain_mm if before.rain_mm >= 2 else 0.0
            drawn_mm = 0.85 * hargreaves_mm(before, latitude_degrees)
            deficit += drawn_mm - rain_mm - watered_mm.get(morning - DAY, 0.0)
            deficit = min(max(deficit, 0.0), CAPACITY_MM[texture])
        found[morning] = deficit
    return found


def is_whole(weather: Mapping[date, WeatherDay], treated_on: date) -> bool:
    """Whether every day of the fortnight is on record."""
    days = [weather.get(treated_on + number * DAY) for number in range(1, FORTNIGHT)]
    return all(day is not None and day.has_temperature and day.rain_mm is not None for day in days)
