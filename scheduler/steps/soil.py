"""Estimate the soil of every site from its weather, a new day for the price of a few."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta

from models.agronomy.moisture import reference_et_mm
from models.agronomy.soil import SoilEstimate, SoilState, estimate_of, states
from models.clock import local_day
from models.facts.place import Site
from models.facts.step import Outcome
from models.facts.weather import KnownWeatherDay, SoilDay, UsedWeatherDay
from models.store.engine import Store
from models.store.ledger import claim_revision, revision_of
from models.store.people import load_business, load_sites
from models.store.soil import (
    SOIL_BOOK,
    last_soil_day,
    load_soil_days,
    load_soil_state,
    save_soil_days,
    save_soil_state,
)
from models.store.weather import WeatherNews, load_weather, news_since
from scheduler.steps.again import again_if_stale
from scheduler.weather.gaps import SHORT_GAP_DAYS, complete

# The state is kept this many days back, where corrections seldom reach; the days after it are done again.
STATE_LAG_DAYS = 10
ONE_DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class SiteSnapshot:
    """What the records say of a site whose soil is to be estimated up to `upto`.

    `start` is the state to go on from: None begins anew. `weather` holds the state's last day too.
    """

    site: Site
    upto: date
    start: SoilState | None
    seen_at: datetime | None
    kept: SoilState | None
    kept_seen_at: datetime | None
    weather: tuple[KnownWeatherDay, ...]
    stored: frozenset[SoilDay]


@dataclass(frozen=True, slots=True)
class SiteSoil:
    """What is to be written of a site, and what a person should hear. `state` None: keep none yet."""

    site_key: str
    days: tuple[SoilDay, ...]
    state: SoilState | None
    seen_at: datetime | None
    said: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class EstimateSoil:
    """Bring soil days up to yesterday, and do those again whose weather was corrected."""

    store: Store
    name: str = field(default="soil", init=False)

    def run(self, now: datetime) -> Outcome:
        return again_if_stale(lambda: self._attempt(now))

    def _attempt(self, now: datetime) -> Outcome:
        revision, snapshots = self._read(now)
        estimated = [soil for snapshot in snapshots if (soil := _estimate(snapshot)) is not None]
        if estimated:
            self._write(revision, estimated)
        changed = sum(len(soil.days) for soil in estimated)
        return Outcome(changed, tuple(sentence for soil in estimated for sentence in soil.said))

    def _read(self, now: datetime) -> tuple[int, tuple[SiteSnapshot, ...]]:
        with self.store.read() as connection:
            yesterday = local_day(now, load_business(connection).time_zone) - ONE_DAY
            revision = revision_of(connection, SOIL_BOOK)
            sites = load_sites(connection)
        snapshots = (self._snapshot(site, yesterday, now) for site in sites)
        return revision, tuple(snapshot for snapshot in snapshots if snapshot is not None)

    def _snapshot(self, site: Site, upto: date, now: datetime) -> SiteSnapshot | None:
        """None where nothing is new, and for a day that lies before what is estimated already."""
        with self.store.read() as connection:
            kept, kept_seen_at = load_soil_state(connection, site.key) or (None, None)
            reached = last_soil_day(connection, site.key)
            news = news_since(connection, site.key, kept_seen_at, upto, now)
            if not _is_due(reached, news, upto):
                return None
            start = None if news is not None and _reaches_back(news, kept) else kept
            weather = load_weather(connection, site.key, _begin(start), upto, now)
            if start is not None and _has_long_gap(weather, start.last_day, upto):
                weather = load_weather(connection, site.key, date.min, upto, now)
            stored = load_soil_days(connection, [site.key], _begin(start), upto)[site.key]
        seen_at = kept_seen_at if news is None else news.known_at
        return SiteSnapshot(site, upto, start, seen_at, kept, kept_seen_at, weather, frozenset(stored))

    def _write(self, revision: int, estimated: Sequence[SiteSoil]) -> None:
        with self.store.write() as connection:
            claim_revision(connection, SOIL_BOOK, revision)
            for soil in estimated:
                save_soil_days(connection, soil.site_key, soil.days)
                if soil.state is not None and soil.seen_at is not None:
                    save_soil_state(connection, soil.site_key, soil.state, soil.seen_at)


def _is_due(reached: date | None, news: WeatherNews | None, upto: date) -> bool:
    if reached is None:
        return news is not None
    return reached < upto or (reached == upto and news is not None)


def _reaches_back(news: WeatherNews, kept: SoilState | None) -> bool:
    return kept is not None and news.first_day <= kept.last_day


def _begin(start: SoilState | None) -> date:
    return date.min if start is None else start.last_day


def _has_long_gap(weather: Sequence[KnownWeatherDay], first: date, upto: date) -> bool:
    return any(day.gap_days > SHORT_GAP_DAYS for day in complete(weather, first, upto))


def _estimate(snapshot: SiteSnapshot) -> SiteSoil | None:
    """What differs from the records; None where nothing does."""
    used = _used(snapshot) if snapshot.weather else ()
    if not used:
        return None
    latitude = snapshot.site.position.latitude
    reached = tuple(states(snapshot.start, used, latitude))
    soil = tuple(_soil_days(used, [estimate_of(state) for state in reached], latitude))
    changed = tuple(day for day in soil if day not in snapshot.stored)
    state = _state_to_keep(snapshot, used, reached)
    keeps = state is not None and (state, snapshot.seen_at) != (snapshot.kept, snapshot.kept_seen_at)
    if not changed and not keeps:
        return None
    return SiteSoil(snapshot.site.key, changed, state, snapshot.seen_at, _said(snapshot.site, used, soil))


def _used(snapshot: SiteSnapshot) -> tuple[UsedWeatherDay, ...]:
    if snapshot.start is not None:
        return complete(snapshot.weather, snapshot.start.last_day + ONE_DAY, snapshot.upto)
    return complete(snapshot.weather, snapshot.weather[0].weather.day, snapshot.upto)


def _soil_days(
    used: Sequence[UsedWeatherDay], estimates: Sequence[SoilEstimate], latitude_degrees: float
) -> Iterator[SoilDay]:
    evaporation = reference_et_mm(used, latitude_degrees)
    for day, estimate, depth_mm in zip(used, estimates, evaporation, strict=True):
        yield SoilDay(
            day=day.day,
            mean_10cm_c=estimate.mean_10cm_c,
            sd_c=estimate.sd_c,
            reference_et_mm=depth_mm,
            rain_mm=day.rain_mm,
            temperature_min_c=day.temperature_min_c,
            provenance=day.provenance,
            weather_revision=day.revision,
            gap_days=day.gap_days,
        )


def _state_to_keep(
    snapshot: SiteSnapshot, used: Sequence[UsedWeatherDay], reached: Sequence[SoilState]
) -> SoilState | None:
    """The newest state on a day old enough and recorded whole, so that no later day changes it."""
    settled = snapshot.upto - timedelta(days=STATE_LAG_DAYS)
    for day, state in zip(reversed(used), reversed(reached), strict=True):
        if day.day <= settled and not day.filled:
            return state
    return snapshot.start


def _said(site: Site, used: Sequence[UsedWeatherDay], soil: Sequence[SoilDay]) -> tuple[str, ...]:
    last = used[-1]
    if not last.gap_days:
        return ()
    missing = ", ".join(last.filled)
    days = "1 day" if last.gap_days == 1 else f"{last.gap_days} days"
    return (
        f"{site.name}: no {missing} on {last.day}, missing for {days} by then; "
        f"filled, so the soil is known to ±{soil[-1].sd_c:.1f} °C only",
    )
