"""A Kalman filter over what a lawn's soil differs from its site's estimate by. Pure.

Five parts: three that last and mean something (offset, exposure to the sun's load, quickness to follow a
spell of weather), and the estimate's own errors of weeks and of days, which fade: so a reading on a day on
which the estimate happens to be wrong is not taken for the lawn's habit.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from math import exp, sqrt

from models.agronomy.lawn_prior import Parts, Prior
from models.agronomy.probe import Observation
from models.facts.readings import Reading
from models.units import day_words

GATE_SD = 4.0  # further than this from what is expected, a reading is set aside (engineering choice)
COLDEST_C, WARMEST_C = -10.0, 40.0  # no probe in turf reads beyond these (engineering choice)


@dataclass(frozen=True, slots=True)
class SetAside:
    """A reading that was not believed, and why, in words."""

    reading: Reading
    reason: str


@dataclass(frozen=True, slots=True)
class LawnState:
    """What is believed on `day` (None: as before any reading). `spread` are the parts' covariances."""

    day: date | None
    means: Parts
    spread: tuple[Parts, ...]
    used: tuple[Reading, ...] = ()
    set_aside: tuple[SetAside, ...] = ()
    waiting: tuple[Reading, ...] = ()


@dataclass(frozen=True, slots=True)
class SiteView:
    """The site's estimate of a day, and what each part counts on it. `own_c2` is the variance of the
    estimate that no part explains."""

    mean_c: float
    look: Parts
    own_c2: float


@dataclass(frozen=True, slots=True)
class Difference:
    """Lawn minus site's estimate on a day, °C, and its variance."""

    mean_c: float
    variance_c2: float


def before_readings(prior: Prior) -> LawnState:
    """The state that the prior alone gives."""
    spread = tuple(
        tuple(sd**2 if row == column else 0.0 for column in range(len(prior.sds)))
        for row, sd in enumerate(prior.sds)
    )
    return LawnState(None, prior.means, _square(spread))


def carried(state: LawnState, day: date, prior: Prior) -> LawnState:
    """The state on a later `day`: each part goes back to its prior at its own pace."""
    if state.day is None or state.day == day:
        return replace(state, day=day)
    kept = [exp(-(day - state.day).days / fades) for fades in prior.fades_days]
    means = tuple(
        usual + share * (mean - usual)
        for share, mean, usual in zip(kept, state.means, prior.means, strict=True)
    )
    spread = [
        [one * other * covariance for other, covariance in zip(kept, row, strict=True)]
        for one, row in zip(kept, state.spread, strict=True)
    ]
    for place, (share, sd) in enumerate(zip(kept, prior.sds, strict=True)):
        spread[place][place] += (1 - share**2) * sd**2
    return replace(state, day=day, means=_five(means), spread=_square(spread))


def taken_in(state: LawnState, observation: Observation, site: SiteView) -> LawnState:
    """The state after one observation of its own day, or the same with the reading set aside."""
    expected = difference(state, site.look)
    variance = expected.variance_c2 + observation.sd_c**2 + site.own_c2
    surprise_c = observation.mean_c - site.mean_c - expected.mean_c
    if doubt := _doubt(observation, site.mean_c + expected.mean_c, surprise_c, sqrt(variance)):
        return replace(state, set_aside=(*state.set_aside, SetAside(observation.reading, doubt)))
    leverage = [_dot(row, site.look) for row in state.spread]
    means = [mean + lever * surprise_c / variance for mean, lever in zip(state.means, leverage, strict=True)]
    spread = [
        [covariance - one * other / variance for other, covariance in zip(leverage, row, strict=True)]
        for one, row in zip(leverage, state.spread, strict=True)
    ]
    used = (*state.used, observation.reading)
    return replace(state, means=_five(means), spread=_square(spread), used=used)


def difference(state: LawnState, look: Parts) -> Difference:
    """What the state says of a day on which the parts count as `look`."""
    variance_c2 = _dot([_dot(row, look) for row in state.spread], look)
    return Difference(_dot(state.means, look), max(0.0, variance_c2))


def reading_words(reading: Reading) -> str:
    """A reading as people say it: what, how deep, on which day."""
    return f"{reading.value_c:.1f} °C at {reading.depth_cm:g} cm on {day_words(reading.day)}"


def _doubt(observation: Observation, expected_c: float, surprise_c: float, sd_c: float) -> str:
    reading = observation.reading
    if not COLDEST_C <= reading.value_c <= WARMEST_C:
        return f"{reading_words(reading)} cannot be: soil is between {COLDEST_C:g} and {WARMEST_C:g} °C"
    if abs(surprise_c) <= GATE_SD * sd_c:
        return ""
    than = "warmer" if surprise_c > 0 else "colder"
    return (
        f"{reading_words(reading)} speaks for a day {abs(surprise_c):.1f} °C {than} than the mean "
        f"expected, {expected_c:.1f} °C (standard deviation {sd_c:.1f} °C): read again, and look at the probe"
    )


def _dot(left: Sequence[float], right: Sequence[float]) -> float:
    return sum(one * other for one, other in zip(left, right, strict=True))


def _five(values: Sequence[float]) -> Parts:
    one, two, three, four, five = values
    return one, two, three, four, five


def _square(rows: Sequence[Sequence[float]]) -> tuple[Parts, ...]:
    return tuple(_five(row) for row in rows)
