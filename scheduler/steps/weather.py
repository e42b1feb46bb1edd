"""Fetch the weather of every site."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta

from models.clock import local_day
from models.errors import RefusedInput, WeatherUnavailable
from models.facts.place import Site
from models.facts.step import Outcome
from models.facts.weather import Provenance, WeatherDay
from models.store.engine import Store
from models.store.people import load_business, load_sites
from models.store.weather import append_weather, last_weather_day
from scheduler.weather.source import WeatherSource

YEARS_BACK = 12  # what an empty site begins with: the outlook rests on past years
CORRECTED_DAYS = 10  # fetched again, so that a source's corrections arrive as new revisions
FORECAST_DAYS = 9


@dataclass(frozen=True, slots=True)
class Wanted:
    """A site and the days to ask its source for."""

    site: Site
    first: date
    last: date


@dataclass(slots=True)
class Fetched:
    """What the sources gave, by site, and what a person should hear about the fetching."""

    days: dict[str, Sequence[WeatherDay]] = field(default_factory=dict)
    said: list[str] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class FetchWeather:
    """Ask each site's source for what is not stored yet; what is stored stays, whatever the answer."""

    store: Store
    sources: Mapping[str, WeatherSource]
    name: str = field(default="weather", init=False)

    def run(self, now: datetime) -> Outcome:
        yesterday, wanted = self._wanted(now)
        fetched = self._fetch(wanted, yesterday, now)
        changed = self._append(fetched, now) if fetched.days else 0
        return Outcome(changed, tuple(fetched.said))

    def _wanted(self, now: datetime) -> tuple[date, tuple[Wanted, ...]]:
        with self.store.read() as connection:
            yesterday = local_day(now, load_business(connection).time_zone) - timedelta(days=1)
            sites = load_sites(connection)
            stored = {site.key: last_weather_day(connection, site.key) for site in sites}
        last = yesterday + timedelta(days=FORECAST_DAYS)
        return yesterday, tuple(Wanted(site, _first(stored[site.key], yesterday), last) for site in sites)

    def _fetch(self, wanted: Sequence[Wanted], yesterday: date, now: datetime) -> Fetched:
        """All sites, one after the other and outside any transaction; one that fails stops no other."""
        fetched = Fetched()
        for one in wanted:
            try:
                days = self._source(one.site).fetch(one.site, one.first, one.last, now)
            except (WeatherUnavailable, RefusedInput) as error:
                fetched.said.append(f"{one.site.name}: no new weather, what was stored stays. {error}")
                continue
            kept, left_out = _sort(days, yesterday)
            fetched.days[one.site.key] = kept
            fetched.said.extend(f"{one.site.name}: {reason}" for reason in left_out)
        return fetched

    def _source(self, site: Site) -> WeatherSource:
        if site.source not in self.sources:
            raise WeatherUnavailable(
                site.source, "no such weather source is set up", f"one of {', '.join(sorted(self.sources))}"
            )
        return self.sources[site.source]

    def _append(self, fetched: Fetched, now: datetime) -> int:
        with self.store.write() as connection:
            return sum(append_weather(connection, key, days, now) for key, days in fetched.days.items())


def _first(stored: date | None, yesterday: date) -> date:
    if stored is None:
        return date(yesterday.year - YEARS_BACK, yesterday.month, 1)
    return min(stored, yesterday) + timedelta(days=1 - CORRECTED_DAYS)


def _sort(days: Sequence[WeatherDay], yesterday: date) -> tuple[tuple[WeatherDay, ...], tuple[str, ...]]:
    """The days to keep, and a sentence for each that cannot be true.

    A day that is not over has no whole measurement yet, whatever its source says.
    """
    kept: list[WeatherDay] = []
    left_out: list[str] = []
    for day in days:
        least_c, most_c = day.temperature_min_c, day.temperature_max_c
        if least_c is not None and most_c is not None and least_c > most_c:
            left_out.append(f"{day.day} left out: minimum {least_c} °C above maximum {most_c} °C")
        elif day.day <= yesterday or day.provenance is Provenance.FORECAST:
            kept.append(day)
    return tuple(kept), tuple(left_out)
