"""Measured soil records with complete weather, as the fitting and the judging read them."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace
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

    The days have temperatures and rain only. Sunshine, wind at 10 m and radiation apart, on the days that
    have them, in h, m/s and MJ/m² (where zeros stand for "not observed").
    """

    station: StationListing
    days: tuple[UsedWeatherDay, ...]
    soil_10cm_c: Mapping[date, float]
    sun_h: Mapping[date, float]
    wind_m_s: Mapping[date, float]
    radiation_mj_m2: Mapping[date, float]

    def days_with(self, used: Collection[str]) -> tuple[UsedWeatherDay, ...]:
        """The days with "wind", or with "sun" (hours, and radiation where it is measured), or both."""
        wind = self.wind_m_s if "wind" in used else {}
        sun, radiation = (self.sun_h, self.radiation_mj_m2) if "sun" in used else ({}, {})
        return tuple(
            replace(
                day,
                wind_m_s=wind.get(day.day),
                sun_h=sun.get(day.day),
                radiation_mj_m2=radiation.get(day.day),
            )
            for day in self.days
        )


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
    bare = tuple(replace(day, wind_m_s=None, sun_h=None) for day in days)
    return SoilRecord(station, bare, record.soil_10cm_c, sun_h, wind_m_s, record.radiation_mj_m2)
