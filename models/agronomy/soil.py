"""The soil estimate of one or several sites from the days that the records hold: see `soil_arrays.py`.

Here the days become arrays and the estimates values, and what was not measured widens the spread.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, fields
from datetime import date, timedelta
from itertools import pairwise
from math import hypot, sqrt

import numpy as np

from models.agronomy.daily_arrays import Estimates, States, Weather, together
from models.agronomy.sky import Array
from models.agronomy.soil_arrays import advance_arrays, first_states
from models.agronomy.soil_laws import FITTED, Doubt, Laws
from models.agronomy.soil_state import SoilEstimate as SoilEstimate
from models.agronomy.soil_state import SoilState as SoilState
from models.facts.weather import Provenance, UsedWeatherDay

WARM_UP_DAYS = 365
SHORT_GAP_DAYS = 3
ONE_DAY = timedelta(days=1)

COLUMNS = (
    "temperature_min_c",
    "temperature_max_c",
    "rain_mm",
    "wind_m_s",
    "sun_h",
    "radiation_mj_m2",
)
ARRAYS = tuple(one.name for one in fields(States) if one.name not in ("days_seen", "layers_c"))


@dataclass(frozen=True, slots=True)
class SiteDays:
    """A site's days to go on with from `state` (None: from its first day).

    `keep` names days whose state is wanted besides that of the last.
    """

    state: SoilState | None
    days: tuple[UsedWeatherDay, ...]
    latitude_degrees: float
    keep: frozenset[date] = field(default=frozenset())


@dataclass(frozen=True, slots=True)
class SiteEstimates:
    """The estimates of a site's days, in their order, and the states asked for."""

    estimates: tuple[SoilEstimate, ...]
    states: dict[date, SoilState]
    last: SoilState


def advance(
    state: SoilState | None,
    days: Sequence[UsedWeatherDay],
    latitude_degrees: float,
    laws: Laws = FITTED,
) -> tuple[tuple[SoilEstimate, ...], SoilState]:
    """Estimates for `days`, and the state after the last of them.

    `days` follow each other and `state.last_day` without a hole, else ValueError; so does an empty
    sequence without a state. Cutting the days into several calls changes no bit of the result.
    """
    (found,) = advance_sites([SiteDays(state, tuple(days), latitude_degrees)], laws)
    return found.estimates, found.last


def advance_sites(sites: Sequence[SiteDays], laws: Laws = FITTED) -> list[SiteEstimates]:
    """The same for many sites, in their order; those whose days are the same go through one call."""
    alike: dict[tuple[bool, date | None, int], list[int]] = defaultdict(list)
    for n, site in enumerate(sites):
        _refuse_holes(site)
        first = site.days[0].day if site.days else None
        alike[site.state is None, first, len(site.days)].append(n)
    found: dict[int, SiteEstimates] = {}
    for numbers in alike.values():
        found.update(zip(numbers, _advance_alike([sites[n] for n in numbers], laws), strict=True))
    return [found[n] for n in range(len(sites))]


def _refuse_holes(site: SiteDays) -> None:
    last = None if site.state is None else site.state.last_day
    if last is None and not site.days:
        raise ValueError("no weather day and no earlier state: there is nothing to estimate from")
    for day in site.days:
        if last is not None and day.day != last + ONE_DAY:
            raise ValueError(f"weather of {day.day} follows {last}: fill the days between first")
        last = day.day


def _advance_alike(sites: Sequence[SiteDays], laws: Laws) -> list[SiteEstimates]:
    """Sites that all begin on the same day and have as many."""
    days = sites[0].days
    if not days:
        return [SiteEstimates((), {}, site.state) for site in sites if site.state is not None]
    found, reached = _arrays(sites, laws)
    return [_one_of(site, n, found, reached, laws) for n, site in enumerate(sites)]


def _arrays(sites: Sequence[SiteDays], laws: Laws) -> tuple[Estimates, dict[date, States]]:
    """The estimates of all days, and the states after the days that any site keeps and after the last."""
    days = [day.day for day in sites[0].days]
    wanted = frozenset[date]().union(*(site.keep for site in sites))
    cuts = [n + 1 for n, day in enumerate(days) if day in wanted or day == days[-1]]
    latitudes = np.array([site.latitude_degrees for site in sites])
    days_of_year = np.array([day.timetuple().tm_yday for day in days], dtype=np.int64)
    weather = _weather(sites)
    states = _states(sites, latitudes, int(days_of_year[0]), laws)
    pieces: list[Estimates] = []
    reached: dict[date, States] = {}
    for first, last in pairwise([0, *cuts]):
        cut = slice(first, last)
        found, states = advance_arrays(states, weather.cut(cut), days_of_year[cut], latitudes, laws)
        pieces.append(found)
        reached[days[last - 1]] = states
    return together(pieces), reached


def _weather(sites: Sequence[SiteDays]) -> Weather:
    def of(name: str) -> Array:
        # None becomes NaN.
        return np.array([[getattr(day, name) for day in site.days] for site in sites], dtype=np.float64).T

    return Weather(*(of(name) for name in COLUMNS))


def _states(sites: Sequence[SiteDays], latitudes: Array, day_of_year: int, laws: Laws) -> States:
    kept = [site.state for site in sites if site.state is not None]
    if not kept:
        air_c = [(site.days[0].temperature_min_c + site.days[0].temperature_max_c) / 2 for site in sites]
        return first_states(latitudes, np.array(air_c), day_of_year, laws)
    arrays = {name: np.array([getattr(state, name) for state in kept]) for name in ARRAYS}
    layers_c = np.array([state.layers_c for state in kept]).T.copy()
    return States(np.array([float(state.days_seen) for state in kept]), layers_c, **arrays)


def _one_of(
    site: SiteDays, n: int, found: Estimates, reached: Mapping[date, States], laws: Laws
) -> SiteEstimates:
    doubts = dict(_doubts(site, laws.doubt))
    seen = 0 if site.state is None else site.state.days_seen
    columns = (values[:, n].tolist() for values in (found.at_10_cm, found.sd, found.at_2_to_5_cm))
    estimates = tuple(
        SoilEstimate(day, mean_c, _sd_c(sd_c, doubt_c2, seen + more, laws.doubt), top_c)
        for more, ((day, doubt_c2), mean_c, sd_c, top_c) in enumerate(
            zip(doubts.items(), *columns, strict=True), start=1
        )
    )
    states = {
        day: _state_of(arrays, n, day, doubts[day])
        for day, arrays in reached.items()
        if day in site.keep or day == site.days[-1].day
    }
    return SiteEstimates(estimates, states, states[site.days[-1].day])


def _state_of(arrays: States, n: int, day: date, doubt_c2: float) -> SoilState:
    values = {name: float(getattr(arrays, name)[n]) for name in ARRAYS}
    layers_c = tuple(arrays.layers_c[:, n].tolist())
    return SoilState(day, int(arrays.days_seen[n]), layers_c, doubt_c2=doubt_c2, **values)


def _doubts(site: SiteDays, by: Doubt) -> Iterator[tuple[date, float]]:
    """Variance added by days that were not measured; it fades as the soil forgets them."""
    before_c2 = 0.0 if site.state is None else site.state.doubt_c2
    for day in site.days:
        before_c2 = max(_doubt_c2(day, by), by.kept * before_c2)
        yield day.day, before_c2


def _doubt_c2(day: UsedWeatherDay, by: Doubt) -> float:
    unmeasured_c = 0.0 if day.provenance is Provenance.MEASURED else by.unmeasured_sd_c
    return _filled_c(day, by) ** 2 + unmeasured_c**2


def _filled_c(day: UsedWeatherDay, by: Doubt) -> float:
    if day.gap_days > SHORT_GAP_DAYS:
        return by.long_gap_sd_c
    if day.gap_days:
        return by.filled_sd_c
    return by.no_rain_sd_c if "rain_mm" in day.filled else 0.0


def _sd_c(measured_sd_c: float, doubt_c2: float, days_seen: int, by: Doubt) -> float:
    cold_start = max(0.0, 1 / sqrt(days_seen) - 1 / sqrt(WARM_UP_DAYS))
    return hypot(measured_sd_c, sqrt(doubt_c2), by.warm_up_sd_c * cold_start)
