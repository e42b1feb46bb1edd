"""Estimate the soil of every site from its weather, a new day for the price of a few."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta

from models.agronomy.soil_state import SoilState
from models.clock import local_day
from models.facts.place import Site
from models.facts.step import Outcome
from models.facts.weather import KnownWeatherDay
from models.store.engine import Connection, Store
from models.store.ledger import claim_revision, revision_of
from models.store.people import load_business, load_sites
from models.store.soil import (
    SOIL_BOOK,
    KeptSoil,
    last_soil_days,
    load_soil_days_of,
    load_soil_states,
    save_soil_days,
    save_soil_states,
)
from models.store.weather import WeatherNews, all_news, load_weather_of, news_since_seen
from scheduler.steps.again import again_if_stale
from scheduler.steps.soil_site import (
    SiteSnapshot,
    SiteSoil,
    begin_of,
    bring_up,
    fingerprint,
    has_long_gap,
    state_to_start_from,
)

ONE_DAY = timedelta(days=1)

# Sites whose whole record is read are done a few at a time, so that their days fit in memory.
WHOLE_RECORDS_AT_ONCE = 10


@dataclass(frozen=True, slots=True)
class DueSite:
    """A site with something to do: its kept state, the one to go on from, and what is new of its weather."""

    site: Site
    kept: KeptSoil | None
    start: SoilState | None
    news: WeatherNews | None

    @property
    def seen_at(self) -> datetime | None:
        if self.news is not None:
            return self.news.known_at
        return None if self.kept is None else self.kept.seen_at


@dataclass(frozen=True, slots=True)
class EstimateSoil:
    """Bring soil days up to yesterday, and do those again whose weather was corrected.

    A fixed number of queries for all sites that go on from a kept state. A state kept under other fitted
    values or for another place counts for nothing: its site is done anew from its first day.
    """

    store: Store
    name: str = field(default="soil", init=False)

    def run(self, now: datetime) -> Outcome:
        done: list[SiteSoil] = []
        return again_if_stale(lambda: self._attempt(now, done))

    def _attempt(self, now: datetime, done: list[SiteSoil]) -> Outcome:
        """Each batch is written by itself; what `done` holds from an attempt before is not due again."""
        revision, upto, due = self._due(now)
        for batch in _batches(due):
            estimated = bring_up(self._snapshots(batch, upto, now))
            if estimated:
                self._write(revision, estimated)
                revision += 1
                done.extend(estimated)
        said = tuple(sentence for soil in done for sentence in soil.said)
        return Outcome(sum(len(soil.days) for soil in done), said)

    def _due(self, now: datetime) -> tuple[int, date, tuple[DueSite, ...]]:
        """The book's revision, yesterday, and the sites that have something to do."""
        with self.store.read() as connection:
            upto = local_day(now, load_business(connection).time_zone) - ONE_DAY
            revision = revision_of(connection, SOIL_BOOK)
            sites = load_sites(connection)
            kept = load_soil_states(connection, {site.key: fingerprint(site) for site in sites})
            reached = last_soil_days(connection)
            news = news_since_seen(connection, upto, now)
            unkept = [site.key for site in sites if site.key not in kept]
            news |= all_news(connection, unkept, upto, now) if unkept else {}
        known = ((site, reached.get(site.key), news.get(site.key)) for site in sites)
        due = (
            _due_site(site, kept.get(site.key), its_news, upto)
            for site, last_day, its_news in known
            if _is_due(last_day, its_news, upto)
        )
        return revision, upto, tuple(due)

    def _snapshots(self, due: Sequence[DueSite], upto: date, now: datetime) -> Iterator[SiteSnapshot]:
        with self.store.read() as connection:
            begins = {one.site.key: begin_of(one.start) for one in due}
            weather = load_weather_of(connection, begins, upto, now)
            weather |= _whole_where_a_gap_is_long(connection, due, weather, upto, now)
            stored = load_soil_days_of(connection, begins, upto)
        for one in due:
            key = one.site.key
            yield SiteSnapshot(one.site, upto, one.start, one.seen_at, one.kept, weather[key], stored[key])

    def _write(self, revision: int, estimated: Sequence[SiteSoil]) -> None:
        with self.store.write() as connection:
            claim_revision(connection, SOIL_BOOK, revision)
            save_soil_days(connection, {soil.site_key: soil.days for soil in estimated})
            kept = {soil.site_key: soil.kept for soil in estimated if soil.kept is not None}
            save_soil_states(connection, kept)


def _is_due(reached: date | None, news: WeatherNews | None, upto: date) -> bool:
    """Not where nothing is new, nor for a day that lies before what is estimated already."""
    if reached is None:
        return news is not None
    return reached < upto or (reached == upto and news is not None)


def _due_site(site: Site, kept: KeptSoil | None, news: WeatherNews | None, upto: date) -> DueSite:
    return DueSite(site, kept, None if kept is None else state_to_start_from(kept, news, upto), news)


def _batches(due: Sequence[DueSite]) -> Iterator[Sequence[DueSite]]:
    going_on = [one for one in due if one.start is not None]
    anew = [one for one in due if one.start is None]
    if going_on:
        yield going_on
    for begin in range(0, len(anew), WHOLE_RECORDS_AT_ONCE):
        yield anew[begin : begin + WHOLE_RECORDS_AT_ONCE]


def _whole_where_a_gap_is_long(
    connection: Connection,
    due: Sequence[DueSite],
    weather: Mapping[str, Sequence[KnownWeatherDay]],
    upto: date,
    now: datetime,
) -> dict[str, tuple[KnownWeatherDay, ...]]:
    long = [
        one.site.key
        for one in due
        if one.start is not None and has_long_gap(weather[one.site.key], one.start.last_day, upto)
    ]
    return load_weather_of(connection, dict.fromkeys(long, date.min), upto, now) if long else {}
