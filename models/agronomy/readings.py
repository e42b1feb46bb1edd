"""A lawn's own soil days: its site's, corrected by its probe readings, its shade and its texture. Pure."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from math import sqrt

from models.agronomy.lawn_filter import (
    Difference,
    LawnState,
    SiteView,
    before_readings,
    carried,
    difference,
    reading_words,
    taken_in,
)
from models.agronomy.lawn_prior import (
    LOAD_DAYS,
    PACE_DAYS,
    STATION,
    USUAL_LOAD_MM,
    Parts,
    Prior,
    lawn_prior,
)
from models.agronomy.probe import Observation, observe
from models.facts.readings import LawnSoil, Reading
from models.facts.weather import SoilDay

DAY = timedelta(days=1)
BACK_DAYS = max(LOAD_DAYS, PACE_DAYS) - 1  # soil days that the correction of a day looks back on


@dataclass(frozen=True, slots=True)
class Priors:
    """Of a lawn, and of the measuring stations whose part of the estimate's variance it replaces."""

    lawn: Prior
    station: Prior = STATION


def priors_of(lawn: LawnSoil) -> Priors:
    """The shipped ones."""
    return Priors(lawn_prior(lawn))


def filter_readings(
    soil_days: Sequence[SoilDay],
    readings: Iterable[Reading],
    lawn: LawnSoil,
    ranges_c: Mapping[date, float],
    priors: Priors | None = None,
) -> LawnState:
    """What the readings teach, in order of their instants whatever the order they are given in.

    `soil_days` are the site's; the three weeks to each reading's day belong to them. `ranges_c`: the air's
    maximum less its minimum by day, °C. A reading on a day without a soil day waits, and says so.
    """
    by = priors or priors_of(lawn)
    known = {soil.day: soil for soil in soil_days}
    state = before_readings(by.lawn)
    for day, observed in sorted(_by_day(readings, lawn, ranges_c).items()):
        state = _after(state, day, observed, known, by)
    return state


def corrected(
    soil_days: Sequence[SoilDay],
    readings: Iterable[Reading],
    lawn: LawnSoil,
    ranges_c: Mapping[date, float],
    priors: Priors | None = None,
    since: date = date.min,
) -> tuple[SoilDay, ...]:
    """The lawn's own soil days from `since` on: the site's, with mean and standard deviation changed.

    A reading counts from its own day on, never before. Arguments as for `filter_readings`.
    """
    by = priors or priors_of(lawn)
    known = {soil.day: soil for soil in soil_days}
    observed = _by_day(readings, lawn, ranges_c)
    return tuple(_walk(known, observed, by, since))


def correction_words(
    state: LawnState, soil_days: Sequence[SoilDay], lawn: LawnSoil, day: date
) -> tuple[str, ...]:
    """How the lawn differs on a day of `soil_days`, and which readings were not believed or still wait."""
    by = priors_of(lawn)
    look = look_of({soil.day: soil for soil in soil_days}, day)
    found = difference(carried(state, day, by.lawn), look)
    told = [_difference_words(len(state.used), found)] if state.used or found.mean_c else []
    told += [f"Set aside: {one.reason}." for one in state.set_aside]
    told += [f"Waits for that day's soil: {reading_words(one)}." for one in state.waiting]
    return tuple(told)


def _difference_words(readings: int, found: Difference) -> str:
    counted = f"{readings or 'no'} reading{'' if readings == 1 else 's'} at this lawn"
    size = f"{abs(found.mean_c):.1f}"
    if size == "0.0":
        return f"{counted}: as warm as the site's estimate."
    than = "warmer" if found.mean_c > 0 else "colder"
    return f"{counted}: {size} °C {than} than the site's estimate."


def site_view(known: Mapping[date, SoilDay], day: date, station: Prior) -> SiteView:
    """The site's day as the filter looks at it; early in a record it looks back on what there is."""
    soil = known[day]
    look = look_of(known, day)
    return SiteView(soil.mean_10cm_c, look, max(0.0, soil.sd_c**2 - station.variance_c2(look)))


def look_of(known: Mapping[date, SoilDay], day: date) -> Parts:
    """What each part counts on a day."""
    loads_mm = [soil.reference_et_mm for soil in _to(known, day, LOAD_DAYS)]
    means_c = [soil.mean_10cm_c for soil in _to(known, day, PACE_DAYS)]
    load_mm = sum(loads_mm) / len(loads_mm) - USUAL_LOAD_MM
    return 1.0, load_mm, known[day].mean_10cm_c - sum(means_c) / len(means_c), 1.0, 1.0


def _to(known: Mapping[date, SoilDay], day: date, days: int) -> list[SoilDay]:
    back = (known.get(day - n * DAY) for n in range(days))
    return [soil for soil in back if soil is not None]


def _by_day(
    readings: Iterable[Reading], lawn: LawnSoil, ranges_c: Mapping[date, float]
) -> dict[date, list[Observation]]:
    found: dict[date, list[Observation]] = defaultdict(list)
    for reading in sorted(readings, key=lambda one: one.taken_at):
        found[reading.day].append(observe(reading, lawn, ranges_c.get(reading.day)))
    return found


def _after(
    state: LawnState,
    day: date,
    observed: Sequence[Observation],
    known: Mapping[date, SoilDay],
    by: Priors,
) -> LawnState:
    if day not in known:
        waiting = (*state.waiting, *(observation.reading for observation in observed))
        return replace(state, waiting=waiting)
    view = site_view(known, day, by.station)
    state = carried(state, day, by.lawn)
    for observation in observed:
        state = taken_in(state, observation, view)
    return state


def _walk(
    known: Mapping[date, SoilDay],
    observed: Mapping[date, Sequence[Observation]],
    by: Priors,
    since: date,
) -> Iterator[SoilDay]:
    state = before_readings(by.lawn)
    for day in sorted(known):
        if day in observed:
            state = _after(state, day, observed[day], known, by)
        if day >= since:
            yield _own(known[day], look_of(known, day), state, by)


def _own(soil: SoilDay, look: Parts, state: LawnState, by: Priors) -> SoilDay:
    """What the parts had of the site's variance gives way to what the readings left of them.

    Where the site claims to be surer than the parts alone allow, its variance shrinks by their ratio.
    """
    found = difference(carried(state, soil.day, by.lawn), look)
    parts_c2, site_c2 = by.station.variance_c2(look), soil.sd_c**2
    if site_c2 >= parts_c2:
        variance_c2 = site_c2 - parts_c2 + found.variance_c2
    else:
        variance_c2 = site_c2 * found.variance_c2 / parts_c2
    return replace(soil, mean_10cm_c=soil.mean_10cm_c + found.mean_c, sd_c=sqrt(variance_c2))
