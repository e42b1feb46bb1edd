"""Fitting the column of the soil estimate to measured soil. Pure.

Gauss-Newton for many sets of stations at once: each (set, station, parameter nudged) is one more site of
the same call. Every station has an offset and a yearly wave of its own, which are not fitted away but
held small, so that a plot that is always warm does not bend the laws.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass, replace
from datetime import date
from itertools import count
from math import inf, log, pi

import numpy as np
from numpy.typing import NDArray

from models.agronomy.daily_arrays import Weather
from models.agronomy.daily_course import daily_course
from models.agronomy.sky import Array, Clearness
from models.agronomy.soil_arrays import first_states, one_day
from models.agronomy.soil_laws import FITTED, Form, Laws, Surface
from models.agronomy.topsoil import HEAT
from models.facts.place import Texture

Stations = tuple[int, ...]

# What is held likely of each parameter before any record is seen, and its spread (engineering choice).
PRIOR = {
    "absorbed": (0.3, 0.3),
    "loss": (10.0, 30.0),
    "loss_clear": (0.0, 15.0),
    "film_log": (log(10), 0.6),
    "film_clear": (0.0, 0.7),
    "film_wind": (0.0, 0.7),
}
START = Surface(0.22, -9.0, 26.0, 2.3, -1.3, 0.3)
NUDGE = {
    "absorbed": 0.005,
    "loss": 0.5,
    "loss_clear": 0.5,
    "film_log": 0.02,
    "film_clear": 0.02,
    "film_wind": 0.02,
}

# 0.75 °C over the root of some 400 independent days of a record (engineering choice).
PRIOR_WEIGHT = 0.037
SITE_EFFECT = 0.05
ROUNDS = 5


@dataclass(frozen=True, slots=True)
class Records:
    """Stations side by side: weather (days, stations) without holes, soil NaN where it is not scored, °C.

    Before a station's first day stands mild filler; nothing of it is scored.
    """

    days: tuple[date, ...]
    weather: Weather
    soil_c: Array
    latitudes: Array

    @property
    def days_of_year(self) -> NDArray[np.int64]:
        return np.array([day.timetuple().tm_yday for day in self.days], dtype=np.int64)

    @property
    def stations(self) -> Stations:
        return tuple(range(len(self.latitudes)))

    def scored(self, station: int) -> NDArray[np.int64]:
        """The places of a station's scored days."""
        return np.flatnonzero(np.isfinite(self.soil_c[:, station]))

    def yearly(self) -> Array:
        """One, sine and cosine of the year, (days, 3): what a station may have of its own."""
        angle = 2 * pi * self.days_of_year / 365.25
        return np.stack([np.ones(len(angle)), np.sin(angle), np.cos(angle)], -1)


def left_out(records: Records) -> list[Stations]:
    """For each station all the others."""
    return [tuple(other for other in records.stations if other != out) for out in records.stations]


def fit_columns(
    records: Records,
    folds: Sequence[Stations],
    clearness: Sequence[Clearness],
    windy: bool,
    start: Surface = START,
    rounds: int = ROUNDS,
) -> list[Laws]:
    """The laws of a bare column for each set of stations, the same for still and windy sites."""
    names = [name for name in PRIOR if windy or name != "film_wind"]
    points = np.array([[getattr(start, name) for name in names] for _ in folds], dtype=np.float64)
    for _ in range(rounds):
        points += _steps(records, folds, clearness, points, names, windy)
    return [
        bare(share, _surface(names, point), windy) for share, point in zip(clearness, points, strict=True)
    ]


def bare(clearness: Clearness, surface: Surface, windy: bool) -> Laws:
    """A column alone, which takes every site for windy, or none."""
    form = Form(surface)
    return replace(FITTED, clearness=clearness, plain=form, windy=form, windy_after=0.0 if windy else inf)


def run(records: Records, stations: Sequence[int], laws: Laws, names: Sequence[str]) -> Array:
    """Named inputs of the correction on every day, (days, names, stations), under laws of arrays."""
    at = list(stations)
    latitudes, weather, heat = records.latitudes[at], records.weather, HEAT[Texture.LOAM]
    chosen = weather.at(at)
    days = records.days_of_year
    courses = {int(day): daily_course(latitudes, int(day)) for day in np.unique(days)}
    states = first_states(latitudes, (chosen.low_c[0] + chosen.high_c[0]) / 2, int(days[0]), laws)
    found = np.empty((len(days), len(names), len(at)))
    for n, day in enumerate(days):
        states, looks = one_day(states, chosen.on(n), courses[int(day)], laws, heat)
        found[n] = [looks.inputs[name] for name in names]
    return found


def side_by_side(laws: Sequence[Laws]) -> Laws:
    """Laws of bare columns as one, whose numbers are arrays over sites."""
    clearness = Clearness(**_arrays([asdict(one.clearness) for one in laws]))
    form = Form(Surface(**_arrays([asdict(one.plain.surface) for one in laws])))
    return replace(laws[0], clearness=clearness, plain=form, windy=form)


def without_site_effects(seasons: Array, values: Array, weight: float) -> Array:
    """Rows (days, columns) less what a station's own offset and wave explain, held small by `weight`.

    Stacked with the effects themselves, so that least squares counts them; scaled to one for each station.
    """
    gram = seasons.T @ seasons / len(values) + weight * np.eye(seasons.shape[1])
    effects = np.linalg.solve(gram, seasons.T @ values / len(values))
    left = (values - seasons @ effects) / np.sqrt(len(values))
    return np.concatenate([left, np.sqrt(weight) * effects])


def _steps(
    records: Records,
    folds: Sequence[Stations],
    clearness: Sequence[Clearness],
    points: Array,
    names: Sequence[str],
    windy: bool,
) -> Array:
    sites = [
        (fold, nudged, station)
        for fold, stations in enumerate(folds)
        for nudged in (None, *names)
        for station in stations
    ]
    laws = [bare(clearness[fold], _surface(names, points[fold], nudged), windy) for fold, nudged, _ in sites]
    column_c = run(records, [station for *_, station in sites], side_by_side(laws), ["column"])[:, 0]
    place = dict(zip(sites, count()))
    return np.array(
        [
            _step(
                records,
                [(s, {at: column_c[:, place[fold, at, s]] for at in (None, *names)}) for s in stations],
                points[fold],
                names,
            )
            for fold, stations in enumerate(folds)
        ]
    )


def _step(
    records: Records,
    columns: Sequence[tuple[int, dict[str | None, Array]]],
    point: Array,
    names: Sequence[str],
) -> Array:
    """One Gauss-Newton step of one set of stations, no longer than half a prior spread."""
    yearly = records.yearly()
    spreads = np.array([PRIOR[name][1] for name in names])
    priors = np.array([PRIOR[name][0] for name in names])
    rows = [
        np.concatenate(
            [(PRIOR_WEIGHT * (point - priors) / spreads)[:, None], PRIOR_WEIGHT * np.diag(1 / spreads)], 1
        )
    ]
    for station, by_nudge in columns:
        at = records.scored(station)
        off = by_nudge[None][at] - records.soil_c[at, station]
        slopes = [(by_nudge[name][at] - by_nudge[None][at]) / NUDGE[name] for name in names]
        rows.append(without_site_effects(yearly[at], np.stack([off, *slopes], -1), SITE_EFFECT))
    system = np.concatenate(rows)
    step = np.linalg.lstsq(system[:, 1:], -system[:, 0], rcond=None)[0]
    limited: Array = np.clip(step, -spreads / 2, spreads / 2)
    return limited


def _surface(names: Sequence[str], point: Array, nudged: str | None = None) -> Surface:
    values = dict(zip(names, point.tolist(), strict=True))
    if nudged is not None:
        values[nudged] += NUDGE[nudged]
    return Surface(**values)


def _arrays(written: Sequence[dict[str, float]]) -> dict[str, Array]:
    return {name: np.array([one[name] for one in written], dtype=np.float64) for name in written[0]}
