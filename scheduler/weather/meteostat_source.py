"""Weather from meteostat, whose library runs in a child process that is ended after a time."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from datetime import date, datetime
from pathlib import Path
from typing import Any

from models.clock import require_utc
from models.errors import WeatherUnavailable
from models.facts.place import Site
from models.facts.weather import Provenance, WeatherDay
from scheduler.weather.meteostat_child import STATION_LIST, Asked

CHILD = "scheduler.weather.meteostat_child"

# To be shown wherever the data or what is derived from it is shown.
ATTRIBUTION = "Weather data: Meteostat (https://dev.meteostat.net), CC BY 4.0, and the services it names"

KEEP = "what was stored is kept; the next run asks again"


@dataclass(frozen=True, slots=True)
class MeteostatSource:
    """Days of one meteostat station: `site.source_ref` is its id; empty: the nearest that has data.

    One fetch takes `timeout_s` at most; a single download half of that. Endpoints are the library's own
    unless given.
    """

    cache_directory: Path
    timeout_s: float = 120.0
    station_list_endpoint: str = ""
    daily_endpoint: str = ""
    name: str = field(default="meteostat", init=False)

    def fetch(self, site: Site, first: date, last: date, now: datetime) -> tuple[WeatherDay, ...]:
        answer = self._ask(self._asked(site, first, last, now))
        if "unavailable" in answer:
            raise WeatherUnavailable(self.name, f"unknown: {answer['unavailable']}", KEEP)
        source = f"{self.name} {answer['station']}"
        return tuple(_weather_day(day, source) for day in answer["days"])

    def _asked(self, site: Site, first: date, last: date, now: datetime) -> Asked:
        return Asked(
            station=site.source_ref,
            latitude=site.position.latitude,
            longitude=site.position.longitude,
            first=first.isoformat(),
            last=last.isoformat(),
            now=require_utc(now).isoformat(),
            cache_directory=str(self.cache_directory),
            wait_s=self.timeout_s / 2,
            station_list_endpoint=self.station_list_endpoint,
            daily_endpoint=self.daily_endpoint,
        )

    def _ask(self, asked: Asked) -> dict[str, Any]:
        self.cache_directory.mkdir(parents=True, exist_ok=True)
        try:
            child = subprocess.run(
                [sys.executable, "-m", CHILD],
                input=json.dumps(asdict(asked)),
                capture_output=True,
                text=True,
                timeout=self.timeout_s,
                check=False,
            )
        except subprocess.TimeoutExpired as expired:
            self._forget_station_list()
            what = f"no answer in {self.timeout_s:g} s, so it was ended"
            raise WeatherUnavailable(self.name, what, KEEP) from expired
        if child.returncode != 0:
            self._forget_station_list()
            raise WeatherUnavailable(self.name, _last_line(child.stderr), KEEP)
        answer: dict[str, Any] = json.loads(child.stdout)
        return answer

    def _forget_station_list(self) -> None:
        """A child that died in a download leaves half a list, and half a list would be used for weeks."""
        (self.cache_directory / STATION_LIST).unlink(missing_ok=True)


def _last_line(trouble: str) -> str:
    return trouble.strip().rpartition("\n")[2] or "it ended without a word"


def _weather_day(day: Mapping[str, Any], source: str) -> WeatherDay:
    return WeatherDay(
        **{
            **day,
            "day": date.fromisoformat(day["day"]),
            "provenance": Provenance(day["provenance"]),
            "source": source,
        }
    )
