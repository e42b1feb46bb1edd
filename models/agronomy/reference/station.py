"""One station's weather as arrays: what every published peer is given."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from models.agronomy.moisture import reference_et_mm
from models.agronomy.reference.sun import radiation_mj_m2
from models.facts.weather import UsedWeatherDay

Series = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class StationWeather:
    """Days that follow each other without a hole. Series of shape (days,): °C, MJ/m² a day, mm, m/s at 10 m.

    `wind_10m_m_s` is nan on days that have no measured wind, or none that may be used.
    """

    days: tuple[date, ...]
    least_c: Series
    most_c: Series
    radiation_mj_m2: Series
    reference_et_mm: Series
    wind_10m_m_s: Series
    latitude_degrees: float

    @property
    def mean_c(self) -> Series:
        """(Minimum + maximum) / 2 of the air."""
        return (self.least_c + self.most_c) / 2

    @property
    def mean_so_far_c(self) -> Series:
        """Mean of the air over each day and all before it: nothing later is known on that day."""
        mean_c: Series = np.cumsum(self.mean_c) / np.arange(1, len(self.days) + 1)
        return mean_c

    @property
    def day_of_year(self) -> NDArray[np.int64]:
        return np.array([day.timetuple().tm_yday for day in self.days], dtype=np.int64)

    def by_day(self, estimated_c: Series) -> dict[date, float]:
        """The estimates of a peer by day; days that it has none for (nan) are left out."""
        pairs = zip(self.days, estimated_c.tolist(), strict=True)
        return {day: mean_c for day, mean_c in pairs if mean_c == mean_c}


def station_weather(
    days: Sequence[UsedWeatherDay],
    latitude_degrees: float,
    sun_h: Mapping[date, float] | None = None,
    wind_m_s: Mapping[date, float] | None = None,
) -> StationWeather:
    """Arrays of complete days; sunshine hours and wind at 10 m only on the days that have them."""
    dates = tuple(day.day for day in days)
    least_c = np.array([day.temperature_min_c for day in days], dtype=np.float64)
    most_c = np.array([day.temperature_max_c for day in days], dtype=np.float64)
    sun = _series(dates, sun_h)
    radiation = radiation_mj_m2(dates, np.maximum(0.0, most_c - least_c), sun, latitude_degrees)
    return StationWeather(
        days=dates,
        least_c=least_c,
        most_c=most_c,
        radiation_mj_m2=radiation,
        reference_et_mm=np.array(reference_et_mm(days, latitude_degrees), dtype=np.float64),
        wind_10m_m_s=_series(dates, wind_m_s),
        latitude_degrees=latitude_degrees,
    )


def _series(days: Sequence[date], values: Mapping[date, float] | None) -> Series:
    known = values or {}
    return np.array([known.get(day, np.nan) for day in days], dtype=np.float64)
