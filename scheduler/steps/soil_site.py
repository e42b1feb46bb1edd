"""One site's soil brought up to date: what the records say in, what is to be written out."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import lru_cache
from hashlib import sha256

from models.agronomy.moisture import reference_et_mm
from models.agronomy.soil import WARM_UP_DAYS, SiteDays, advance_sites
from models.agronomy.soil_laws import FITTED
from models.agronomy.soil_state import SoilEstimate, SoilState
from models.facts.place import Site
from models.facts.weather import KnownWeatherDay, Provenance, SoilDay, UsedWeatherDay
from models.store.soil import KeptSoil
from models.store.weather import WeatherNews
from scheduler.weather.gaps import SHORT_GAP_DAYS, complete

# The state is kept this many days back, where corrections seldom reach; the days after it are done again.
STATE_LAG_DAYS = 10

# A measured day is waited for this long before a state is kept on one that is not: measurements that
# come late would reach back behind the state, and cost the whole record (engineering choice).
MEASURED_LAG_DAYS = 30

# A morning goes on from the latest state, and the settled one is left behind until it is this old: then,
# and after a correction, the days since are done again from it (engineering choice).
RENEWED_AFTER_DAYS = 2 * STATE_LAG_DAYS
ONE_DAY = timedelta(days=1)
FINGERPRINT_LENGTH = 32


@dataclass(frozen=True, slots=True)
class SiteSnapshot:
    """What the records say of a site whose soil is to be estimated up to `upto`.

    `start` is the state to go on from: None begins anew. `weather` and `stored` hold its last day too.
    """

    site: Site
    upto: date
    start: SoilState | None
    seen_at: datetime | None
    kept: KeptSoil | None
    weather: tuple[KnownWeatherDay, ...]
    stored: tuple[SoilDay, ...]


@dataclass(frozen=True, slots=True)
class SiteSoil:
    """What is to be written of a site, and what a person should hear. `kept` None: keep none yet."""

    site_key: str
    days: tuple[SoilDay, ...]
    kept: KeptSoil | None
    said: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Reached:
    """The estimates of a site's days, how many days stand behind the last, and the states to keep."""

    estimates: tuple[SoilEstimate, ...]
    days_seen: int
    settled: SoilState | None
    latest: SoilState | None


@lru_cache(maxsize=10_000)
def fingerprint(site: Site) -> str:
    """Tells the place and the fitted values that a kept state rests on: under others it is built anew."""
    rests_on = (site.key, site.position, site.elevation_m, FITTED)
    return sha256(repr(rests_on).encode()).hexdigest()[:FINGERPRINT_LENGTH]


def begin_of(start: SoilState | None) -> date:
    return date.min if start is None else start.last_day


def has_long_gap(weather: Sequence[KnownWeatherDay], first: date, upto: date) -> bool:
    """Whether temperatures are missing for so long that earlier years have a say in filling them."""
    return any(day.gap_days > SHORT_GAP_DAYS for day in complete(weather, first, upto))


def state_to_start_from(kept: KeptSoil, news: WeatherNews | None, upto: date) -> SoilState | None:
    """The latest state where nothing before it is news, else the settled one; None: from the first day."""
    if news is not None and news.first_day <= kept.state.last_day:
        return None
    latest = kept.latest
    if latest is None or latest.last_day > upto:
        return kept.state
    settled_long_ago = kept.state.last_day < upto - timedelta(days=RENEWED_AFTER_DAYS)
    corrected = news is not None and news.first_day <= latest.last_day
    return kept.state if settled_long_ago or corrected else latest


def bring_up(snapshots: Iterable[SiteSnapshot]) -> list[SiteSoil]:
    """What differs from the records, site by site; nothing for a site where nothing does."""
    filled = ((snapshot, _used(snapshot)) for snapshot in snapshots if snapshot.weather)
    ready = [(snapshot, used) for snapshot, used in filled if used]
    pairs = zip(ready, _reach(ready), strict=True)
    changes = (_changes(snapshot, used, its) for (snapshot, used), its in pairs)
    return [soil for soil in changes if soil is not None]


def _reach(sites: Sequence[tuple[SiteSnapshot, tuple[UsedWeatherDay, ...]]]) -> Iterator[Reached]:
    """The estimator run over the days of all sites in one call."""
    settled = [_settled_day(snapshot.upto, used) for snapshot, used in sites]
    latest = [_latest_day(used) for _, used in sites]
    runs = advance_sites(
        [
            SiteDays(
                snapshot.start,
                used,
                snapshot.site.position.latitude,
                frozenset(day for day in days if day is not None),
            )
            for (snapshot, used), *days in zip(sites, settled, latest, strict=True)
        ]
    )
    for run, *days in zip(runs, settled, latest, strict=True):
        states = (None if day is None else run.states[day] for day in days)
        yield Reached(run.estimates, run.last.days_seen, *states)


def _changes(snapshot: SiteSnapshot, used: Sequence[UsedWeatherDay], reached: Reached) -> SiteSoil | None:
    soil = tuple(_soil_days(used, reached.estimates, snapshot.site.position.latitude))
    stored = {day.day: day for day in snapshot.stored}
    changed = tuple(day for day in soil if stored.get(day.day) != day)
    kept = _kept(snapshot, reached)
    if not changed and kept == snapshot.kept:
        return None
    said = tuple(_said(snapshot.site, used[-1], reached.days_seen, soil[-1]))
    return SiteSoil(snapshot.site.key, changed, kept, said)


def _used(snapshot: SiteSnapshot) -> tuple[UsedWeatherDay, ...]:
    if snapshot.start is None:
        return complete(snapshot.weather, snapshot.weather[0].weather.day, snapshot.upto)
    last_day = snapshot.start.last_day
    rainless = next((day.rain_gap_days for day in snapshot.stored if day.day == last_day), 0)
    return complete(snapshot.weather, last_day + ONE_DAY, snapshot.upto, rainless)


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
            rain_gap_days=day.rain_gap_days,
        )


def _kept(snapshot: SiteSnapshot, reached: Reached) -> KeptSoil | None:
    start = snapshot.start
    # From the latest state on, the days done say nothing of the settled one before it.
    settled = reached.settled or (snapshot.kept.state if snapshot.kept and start else None)
    if settled is None or snapshot.seen_at is None:
        return snapshot.kept
    return KeptSoil(settled, snapshot.seen_at, fingerprint(snapshot.site), reached.latest or start)


def _latest_day(used: Sequence[UsedWeatherDay]) -> date | None:
    """The newest day with its own temperatures: nothing but a correction changes its state."""
    return next((day.day for day in reversed(used) if not day.gap_days), None)


def _settled_day(upto: date, used: Sequence[UsedWeatherDay]) -> date | None:
    """The newest day old enough and with its own temperatures, so that no later day changes its state.

    Rain may be missing: it is filled the same whatever comes after.
    """
    settled = [
        day for day in reversed(used) if day.day <= upto - timedelta(days=STATE_LAG_DAYS) and not day.gap_days
    ]
    measured_after = upto - timedelta(days=STATE_LAG_DAYS + MEASURED_LAG_DAYS)
    measured = (
        day.day for day in settled if day.provenance is Provenance.MEASURED and day.day > measured_after
    )
    return next(measured, settled[0].day if settled else None)


def _said(site: Site, used: UsedWeatherDay, days_seen: int, soil: SoilDay) -> Iterator[str]:
    """Why the last day's estimate is wider than it could be, and its rain not to be relied on."""
    known = f"so the soil is known to ±{soil.sd_c:.1f} °C only"
    temperatures = [name for name in used.filled if name != "rain_mm"]
    if days_seen < WARM_UP_DAYS:
        yield f"{site.name}: the record is {_days(days_seen)} long, less than a year, {known}"
    if temperatures:
        names, missing = ", ".join(temperatures), _days(used.gap_days)
        yield f"{site.name}: no {names} on {used.day}, missing for {missing} by then; filled, {known}"
    if used.rain_gap_days:
        missing = _days(used.rain_gap_days)
        yield (
            f"{site.name}: no rain_mm on {used.day}, missing for {missing} by then; "
            "taken as none, so lawns may be wetter than they are counted"
        )


def _days(count: int) -> str:
    return "1 day" if count == 1 else f"{count} days"
