"""Weather from meteostat, whose library runs in a child process that is ended after a time."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from datetime import date, datetime
from pathlib import Path
from typing import Any

from models.clock import require_utc
from models.facts.place import Position, Site
from models.facts.weather import Provenance, WeatherCredit, WeatherDay
from scheduler.weather.blend import StationDays, blend
from scheduler.weather.child import ask_child
from scheduler.weather.meteostat_child import Asked
from scheduler.weather.source import WeatherAnswer

CHILD = "scheduler.weather.meteostat_child"
NAME = "meteostat"

# As the description of meteostat 2.1.5 has it; the terms themselves: https://dev.meteostat.net/license.
CREDIT = WeatherCredit(
    NAME, "Meteostat (https://dev.meteostat.net)", "CC BY 4.0", "https://creativecommons.org/licenses/by/4.0/"
)

# To be shown wherever the data or what is derived from it is shown.
ATTRIBUTION = f"Weather data: {CREDIT.attribution}, {CREDIT.licence}, and the services it names"


@dataclass(frozen=True, slots=True)
class MeteostatSource:
    """Days of the meteostat stations about a site, see `blend`.

    `site.source_ref` names stations by their ids, the one to be trusted first first; empty: the nearest
    that have data. One fetch takes `timeout_s` at most; a single download half of that. Endpoints are the
    library's own unless given.
    """

    cache_directory: Path
    timeout_s: float = 120.0
    station_list_endpoint: str = ""
    daily_endpoint: str = ""
    name: str = field(default=NAME, init=False)

    def fetch(self, site: Site, first: date, last: date, now: datetime) -> WeatherAnswer:
        self.cache_directory.mkdir(parents=True, exist_ok=True)
        answer = ask_child(self.name, CHILD, asdict(self._asked(site, first, last, now)), self.timeout_s)
        stations = [_station(one) for one in answer["stations"]]
        credits = (CREDIT, *(WeatherCredit(self.name, **credit) for credit in answer["credits"]))
        return WeatherAnswer(blend(self.name, site, stations), credits, tuple(answer["said"]))

    def _asked(self, site: Site, first: date, last: date, now: datetime) -> Asked:
        return Asked(
            station=site.source_ref,
            latitude=site.position.latitude,
            longitude=site.position.longitude,
            elevation_m=site.elevation_m,
            first=first.isoformat(),
            last=last.isoformat(),
            now=require_utc(now).isoformat(),
            cache_directory=str(self.cache_directory),
            wait_s=self.timeout_s / 2,
            station_list_endpoint=self.station_list_endpoint,
            daily_endpoint=self.daily_endpoint,
        )


def _station(given: Mapping[str, Any]) -> StationDays:
    return StationDays(
        given["key"],
        Position(given["latitude"], given["longitude"]),
        given["elevation_m"],
        tuple(weather_day(day) for day in given["days"]),
    )


def weather_day(given: Mapping[str, Any]) -> WeatherDay:
    """A day as a child wrote it."""
    parsed = {"day": date.fromisoformat(given["day"]), "provenance": Provenance(given["provenance"])}
    return WeatherDay(**{**given, **parsed})
