"""Measured soil records with complete weather, as the fitting and the judging read them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime, time
from pathlib import Path

from models.errors import Fault, RefusedInput
from models.facts.weather import UsedWeatherDay
from scheduler.weather.gaps import as_known, complete
from scheduler.weather.station_file import StationListing, read_station_file, read_stations

LISTING = "stations.csv"


@dataclass(frozen=True, slots=True)
class SoilRecord:
    """One station: complete weather of its whole span, and the soil measured there, °C.

    Sunshine and wind at 10 m on the days that have them, h and m/s.
    """

    station: StationListing
    days: tuple[UsedWeatherDay, ...]
    soil_10cm_c: Mapping[date, float]
    sun_h: Mapping[date, float]
    wind_m_s: Mapping[date, float]


def load_records(directory: Path) -> tuple[SoilRecord, ...]:
    """Every station that `stations.csv` lists there, in its order; RefusedInput as the readers do."""
    stations = read_stations(directory / LISTING)
    if not stations:
        raise RefusedInput(LISTING, [Fault("line 2", "no station", "list at least one station file")])
    return tuple(_load(directory, station) for station in stations)


def _load(directory: Path, station: StationListing) -> SoilRecord:
    record = read_station_file(directory / f"{station.file}.csv")
    if not record.days:
        fault = Fault("line 2", "no day", "a station file needs at least one day")
        raise RefusedInput(f"{station.file}.csv", [fault])
    first, last = record.days[0].day, record.days[-1].day
    days = complete(as_known(record.days, datetime.combine(last, time(), UTC)), first, last)
    sun_h = {day.day: day.sun_h for day in record.days if day.sun_h is not None}
    wind_m_s = {day.day: day.wind_m_s for day in record.days if day.wind_m_s is not None}
    return SoilRecord(station, days, record.soil_10cm_c, sun_h, wind_m_s)
