"""A lawn's own soil days: its site's, corrected by its probe readings, its shade and its texture. Pure."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from math import sqrt

from models.agronomy.lawn_filter import (
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
from models.facts.place import Shade
from models.facts.readings import LawnSoil, OwnGround, Reading
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


@dataclass(frozen=True, slots=True)
class OwnSoil:
    """A lawn's soil days, and what is believed of it after all of its readings."""

    days: tuple[SoilDay, ...]
    state: LawnState


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
    known = {soil.day: soil for soil in soil_days}
    observed = _by_day(readings, lawn, ranges_c)
    return _follow(known, observed, priors or priors_of(lawn), date.max).state


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
    known = {soil.day: soil for soil in soil_days}
    observed = _by_day(readings, lawn, ranges_c)
    return _follow(known, observed, priors or priors_of(lawn), since).days


def own_soil(ground: OwnGround, soil_days: Sequence[SoilDay], since: date) -> OwnSoil:
    """`soil_days` with those from `since` on as the lawn's own; the earlier ones stay the site's."""
    known = {soil.day: soil for soil in (*ground.past, *soil_days)}
    observed = _by_day(ground.readings, ground.lawn, ground.ranges_c)
    found = _follow(known, observed, priors_of(ground.lawn), since)
    own = {soil.day: soil for soil in found.days}
    return OwnSoil(tuple(own.get(soil.day, soil) for soil in soil_days), found.state)


def own_words(ground: OwnGround, own: OwnSoil, soil_days: Sequence[SoilDay]) -> tuple[str, ...]:
    """How the lawn's last day differs from the site's `soil_days`, and which readings do not count and why.

    A reading later than that day is not spoken of.
    """
    last, state = soil_days[-1], own.state
    count = sum(one.day <= last.day for one in state.used)
    told = [_difference_words(count, own.days[-1].mean_10cm_c - last.mean_10cm_c, ground.lawn)]
    told += [f"Set aside: {one.reason}." for one in state.set_aside if one.reading.day <= last.day]
    told += [
        f"Waits for its day's soil: {reading_words(one)}." for one in state.waiting if one.day <= last.day
    ]
    return tuple(told)


def _difference_words(count: int, found_c: float, lawn: LawnSoil) -> str:
    counted = f"{count or 'no'} reading{'' if count == 1 else 's'}"
    place = "this lawn" if lawn.shade is Shade.OPEN else f"this lawn, which is {lawn.shade}"
    rests_on = f"{counted[0].upper()}{counted[1:]} at {place}"
    size = f"{abs(found_c):.1f}"
    if size == "0.0":
        return f"{rests_on}: as warm as the site's estimate."
    return f"{rests_on}: {size} °C {'warmer' if found_c > 0 else 'colder'} than the site's estimate."


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


def _follow(
    known: Mapping[date, SoilDay],
    observed: Mapping[date, Sequence[Observation]],
    by: Priors,
    since: date,
) -> OwnSoil:
    """The known days from `since` on, each by the readings up to it, and the state after all readings."""
    state, days = before_readings(by.lawn), []
    for day in sorted({*observed, *(day for day in known if day >= since)}):
        if day in observed:
            state = _after(state, day, observed[day], known, by)
        if day in known and day >= since:
            days.append(_own(known[day], look_of(known, day), state, by))
    return OwnSoil(tuple(days), state)


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
