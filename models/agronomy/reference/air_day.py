"""The day's own air mean as the soil temperature: what stands for the soil where nothing is done."""

from __future__ import annotations

from models.agronomy.reference.station import Series, StationWeather


def air_day_c(weather: StationWeather) -> Series:
    """(Minimum + maximum) / 2 of the same day, °C."""
    return weather.mean_c
