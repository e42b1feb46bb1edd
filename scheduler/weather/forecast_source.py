"""Forecasts of MET Norway through the meteostat library, in a child process that is ended after a time."""

from __future__ import annotations

from dataclasses import asdict, dataclass, field, replace
from datetime import date, datetime
from pathlib import Path

from models.facts.place import Site
from models.facts.weather import WeatherCredit
from scheduler.weather.child import ask_child
from scheduler.weather.forecast_child import ForecastAsked
from scheduler.weather.meteostat_source import weather_day
from scheduler.weather.source import WeatherAnswer

CHILD = "scheduler.weather.forecast_child"
NAME = "met-norway-forecast"


@dataclass(frozen=True, slots=True)
class ForecastSource:
    """Days ahead of a site, all of them forecast.

    `user_agent` names the firm and how to reach it: the service refuses requests without
    (https://api.met.no/doc/TermsOfService, from memory). The endpoint is the library's own unless given.
    """

    cache_directory: Path
    user_agent: str
    timeout_s: float = 60.0
    endpoint: str = ""
    name: str = field(default=NAME, init=False)

    def fetch(self, site: Site, first: date, last: date, now: datetime) -> WeatherAnswer:
        """What is forecast of the days from `first` to `last`; the service only ever tells the present."""
        self.cache_directory.mkdir(parents=True, exist_ok=True)
        answer = ask_child(self.name, CHILD, asdict(self._asked(site, first, last)), self.timeout_s)
        days = tuple(replace(weather_day(day), source=self.name) for day in answer["days"])
        credits = tuple(WeatherCredit(self.name, **credit) for credit in answer["credits"])
        return WeatherAnswer(days, credits)

    def _asked(self, site: Site, first: date, last: date) -> ForecastAsked:
        return ForecastAsked(
            latitude=site.position.latitude,
            longitude=site.position.longitude,
            elevation_m=site.elevation_m,
            first=first.isoformat(),
            last=last.isoformat(),
            user_agent=self.user_agent,
            cache_directory=str(self.cache_directory),
            wait_s=self.timeout_s / 2,
            endpoint=self.endpoint,
        )
