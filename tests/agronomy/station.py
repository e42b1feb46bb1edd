"""Weather made for the tests of the published models."""

from __future__ import annotations

from datetime import date, timedelta

from models.agronomy.reference.station import StationWeather, station_weather
from models.facts.weather import Provenance, UsedWeatherDay

LATITUDE_DEGREES = 53.0


def used_days(airs: list[tuple[float, float]], first: date = date(2015, 1, 1)) -> list[UsedWeatherDay]:
    """Days in order with these minima and maxima, without rain."""
    return [
        UsedWeatherDay(first + timedelta(n), least_c, most_c, 0.0, Provenance.MEASURED, revision=1)
        for n, (least_c, most_c) in enumerate(airs)
    ]


def made_weather(airs: list[tuple[float, float]], first: date = date(2015, 1, 1)) -> StationWeather:
    """The same as arrays, at 53° north."""
    return station_weather(used_days(airs, first), LATITUDE_DEGREES)
