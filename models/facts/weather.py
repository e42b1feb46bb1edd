"""Weather and soil, a day at a time."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum


class Provenance(StrEnum):
    """How a weather day came to be. The kinds are kept apart and never overwrite each other."""

    MEASURED = "measured"
    MODELLED = "modelled"
    FORECAST = "forecast"


@dataclass(frozen=True, slots=True)
class WeatherDay:
    """One local day's weather at one site, as a source gave it. None: the source has no value."""

    day: date
    temperature_min_c: float | None
    temperature_max_c: float | None
    rain_mm: float | None
    wind_m_s: float | None = None
    sun_h: float | None = None
    provenance: Provenance = Provenance.MEASURED
    source: str = ""  # source and station, e.g. "station-file valley"

    @property
    def has_temperature(self) -> bool:
        return self.temperature_min_c is not None and self.temperature_max_c is not None


@dataclass(frozen=True, slots=True)
class KnownWeatherDay:
    """A stored weather day: the `revision`-th word of its source on that day, known from `known_at`."""

    weather: WeatherDay
    revision: int
    known_at: datetime


@dataclass(frozen=True, slots=True)
class UsedWeatherDay:
    """A day as the estimates use it: complete, with what had to be filled said.

    `gap_days` is 0 for a day with its own temperatures, else the length of the gap it lies in;
    `rain_gap_days` is 0 for a day with its own rain, else how many days none was recorded by then;
    `revision` is the stored revision it rests on (0 where nothing is stored).
    """

    day: date
    temperature_min_c: float
    temperature_max_c: float
    rain_mm: float
    provenance: Provenance
    revision: int
    gap_days: int = 0
    filled: tuple[str, ...] = ()  # names of the values that were filled
    rain_gap_days: int = 0
    wind_m_s: float | None = None  # as recorded: none of them is filled, the soil does without
    sun_h: float | None = None
    radiation_mj_m2: float | None = None


@dataclass(frozen=True, slots=True)
class SoilDay:
    """Estimated soil below turf on one local day at one site.

    `mean_10cm_c` with its standard deviation `sd_c`; evapotranspiration and rain for the day's
    water balance; `weather_revision`, `gap_days` (of temperatures) and `rain_gap_days` say what it
    rests on.
    """

    day: date
    mean_10cm_c: float
    sd_c: float
    reference_et_mm: float
    rain_mm: float
    temperature_min_c: float
    provenance: Provenance
    weather_revision: int
    gap_days: int = 0
    rain_gap_days: int = 0


@dataclass(frozen=True, slots=True)
class WeatherCredit:
    """Whom a site's weather comes from and under what terms: to be shown wherever the data is used.

    `source` is the weather source that brought it; `licence` and `address` are empty where unknown.
    """

    source: str
    attribution: str
    licence: str = ""
    address: str = ""
    commercial: bool = True
