"""Fitting what is added to the column: the quadratic correction, the rise of spring and the spread. Pure.

Ridge, rise and spread are chosen on stations left out of the fit that they are tried with.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from statistics import fmean

import numpy as np
from numpy.typing import NDArray

from models.agronomy.correction import (
    MOST_SPREADS,
    PLAIN_INPUTS,
    SPREAD_INPUTS,
    WINDY_INPUTS,
    Correction,
    Spread,
    spread_inputs,
)
from models.agronomy.fitted import RIDGE
from models.agronomy.judging import SD_OF_80, judge_spring
from models.agronomy.sky import Array
from models.agronomy.soil_fit import (
    Records,
    Stations,
    fit_clearness,
    fit_columns,
    left_out,
    run,
    side_by_side,
)
from models.agronomy.soil_laws import FITTED, Form, Laws

INPUTS = (*WINDY_INPUTS, "rise", "air_minus_column")
RIDGES = (0.0005, 0.001, 0.002, 0.005)
RISES_C = (0.0, 0.1, 0.15, 0.2, 0.25, 0.3, 0.4)
SITE_EFFECT = 0.01

# Engineering choices: a day of opening error is worth this much daily error; openings are looked at only
# for ridges within this much of the best; each is shifted a little, as one day decides little.
DAY_WORTH_C = 0.025
CLOSE_C = 0.004
SHIFTS_C = (-0.12, -0.06, 0.0, 0.06, 0.12)
AROUND_ZERO_C = 0.05

Inputs = dict[str, Array]


@dataclass(frozen=True, slots=True)
class Choice:
    """What was chosen on stations left out, with the mean errors there: daily (°C) and of openings (days)."""

    ridge: float
    rise_c: float
    rmse_c: float
    opening_days: float


@dataclass(frozen=True, slots=True)
class FittedForm:
    """A form fitted on all stations, the same without each one, and the choice they share."""

    laws: Laws
    without: tuple[Laws, ...]
    choice: Choice


def fit_form(records: Records, windy: bool) -> FittedForm:
    """The whole fit of one form. Some minutes for seven stations of twenty years."""
    folds = [records.stations, *left_out(records)]
    clearness = fit_clearness(records, folds)
    bare = fit_columns(records, folds, clearness, windy)
    inputs = fold_inputs(records, bare)
    choice, spread = _choose(records, folds, inputs, windy)
    whole = [
        with_form(
            laws, fit_correction(records, its, stations, choice.ridge, windy), choice.rise_c, spread, windy
        )
        for laws, its, stations in zip(bare, inputs, folds, strict=True)
    ]
    return FittedForm(whole[0], tuple(whole[1:]), choice)


def refit_left_out(records: Records, windy: bool, by: Laws = FITTED) -> list[Laws]:
    """The shipped form fitted anew without each station in turn; ridge, rise and spread stay as shipped."""
    folds = left_out(records)
    form, ridge = (by.windy, RIDGE["windy"]) if windy else (by.plain, RIDGE["plain"])
    clearness = fit_clearness(records, folds)
    # Two rounds: from the shipped numbers the way is short.
    columns = fit_columns(records, folds, clearness, windy, form.surface, rounds=2)
    corrections = (
        fit_correction(records, inputs, stations, ridge, windy)
        for inputs, stations in zip(fold_inputs(records, columns), folds, strict=True)
    )
    return [
        with_form(laws, correction, form.rise_c, form.spread, windy)
        for laws, correction in zip(columns, corrections, strict=True)
    ]


def with_form(laws: Laws, correction: Correction, rise_c: float, spread: Spread | None, windy: bool) -> Laws:
    """Laws of a bare column with all that is added to it, in the form that holds."""
    form = Form(laws.plain.surface, correction, rise_c, spread)
    shipped = replace(FITTED, clearness=laws.clearness)
    return replace(shipped, windy=form) if windy else replace(shipped, plain=form)


def fold_inputs(records: Records, laws: Sequence[Laws]) -> list[list[Inputs]]:
    """For each set of laws and station the inputs of every day, all run at once."""
    stations = records.stations
    found = run(
        records,
        [s for _ in laws for s in stations],
        side_by_side([one for one in laws for _ in stations]),
        INPUTS,
    )
    return [
        [{name: found[:, k, fold * len(stations) + s] for k, name in enumerate(INPUTS)} for s in stations]
        for fold in range(len(laws))
    ]


def fit_correction(
    records: Records, inputs: Sequence[Inputs], stations: Stations, ridge: float, windy: bool
) -> Correction:
    """Ridge regression of what the column leaves, every station counting alike."""
    names = WINDY_INPUTS if windy else PLAIN_INPUTS
    chosen = [_on(inputs[s], records.scored(s)) for s in stations]
    every = np.concatenate([np.stack([its[name] for name in names], -1) for its in chosen])
    mean, spread = every.mean(0), every.std(0)
    sums = [
        _normal_equations(records, s, its, (names, mean, spread))
        for s, its in zip(stations, chosen, strict=True)
    ]
    gram, right, variance = (np.sum([one[k] for one in sums], axis=0) for k in range(3))
    variance[0] = 0.0
    weights = np.linalg.solve(gram + ridge * np.diag(variance), right)
    return _correction(names, mean, spread, weights)


def _normal_equations(
    records: Records, station: int, inputs: Inputs, scale: tuple[tuple[str, ...], Array, Array]
) -> tuple[Array, Array, Array]:
    """Of one station's scored days, and how much each term varies there."""
    names, mean, spread = scale
    at = records.scored(station)
    x = (np.stack([inputs[name] for name in names], -1) - mean) / spread
    terms = _products(np.clip(x, -MOST_SPREADS, MOST_SPREADS))
    off = records.soil_c[at, station] - inputs["column"]
    gram, right = _without_site_effects(records.yearly()[at], terms, off)
    return gram, right, terms.var(0)


def _without_site_effects(seasons: Array, terms: Array, off: Array) -> tuple[Array, Array]:
    """Normal equations of one station with its own offset and wave taken out, held small."""
    days = len(off)
    gram = seasons.T @ seasons / days + SITE_EFFECT * np.eye(seasons.shape[1])
    across = seasons.T @ np.concatenate([terms, off[:, None]], 1) / days
    explained = across[:, :-1].T @ np.linalg.solve(gram, across)
    return terms.T @ terms / days - explained[:, :-1], terms.T @ off / days - explained[:, -1]


def _products(x: Array) -> Array:
    """(days, inputs) to columns 1, x, x_i · x_j (i <= j)."""
    i, j = np.triu_indices(x.shape[1])
    return np.concatenate([np.ones((len(x), 1)), x, x[:, i] * x[:, j]], 1)


def _correction(names: tuple[str, ...], mean: Array, spread: Array, weights: Array) -> Correction:
    size = len(names)
    written = weights.tolist()
    rows, begin = [], 1 + size
    for i in range(size):
        rows.append(tuple(written[begin : begin + size - i]))
        begin += size - i
    return Correction(
        names,
        tuple(mean.tolist()),
        tuple(spread.tolist()),
        written[0],
        tuple(written[1 : 1 + size]),
        tuple(rows),
    )


def _choose(
    records: Records, folds: Sequence[Stations], inputs: Sequence[Sequence[Inputs]], windy: bool
) -> tuple[Choice, Spread]:
    """Ridge, rise and spread by the errors at stations left out: `folds[1 + s]` is without station s."""
    stations = records.stations
    own = [inputs[1 + s][s] for s in stations]
    tried = []
    for ridge in RIDGES:
        by = [fit_correction(records, inputs[1 + s], folds[1 + s], ridge, windy) for s in stations]
        means = [its["column"] + one.added_c(its) for its, one in zip(own, by, strict=True)]
        tried.append((_rmse_c(records, means), ridge, means))
    best = min(rmse_c for rmse_c, *_ in tried)
    choices = [
        (_judged(records, raised, ridge, rise_c), raised)
        for rmse_c, ridge, means in tried
        if rmse_c <= best + CLOSE_C
        for rise_c in RISES_C
        for raised in [[mean + rise_c * its["rise"] for mean, its in zip(means, own, strict=True)]]
    ]
    choice, means = min(choices, key=lambda one: one[0].rmse_c + DAY_WORTH_C * one[0].opening_days)
    return choice, fit_spread(records, own, means)


def _judged(records: Records, means: Sequence[Array], ridge: float, rise_c: float) -> Choice:
    return Choice(ridge, rise_c, _rmse_c(records, means), _opening_days(records, means))


def _rmse_c(records: Records, means: Sequence[Array]) -> float:
    errors = [(mean - records.soil_c[:, s])[records.scored(s)] for s, mean in enumerate(means)]
    return fmean(float(np.sqrt(np.mean(error**2))) for error in errors)


def _opening_days(records: Records, means: Sequence[Array]) -> float:
    """Mean absolute error of the openings, over small shifts of the estimate."""
    errors: list[int] = []
    for s, mean in enumerate(means):
        at = records.scored(s)
        measured = _by_day(records, at, records.soil_c[at, s])
        years = sorted({day.year for day in measured})
        for shift_c in SHIFTS_C:
            estimated = _by_day(records, at, mean[at] + shift_c)
            turns = (judge_spring(estimated, measured, year) for year in years)
            errors.extend(abs(turn.error_days) for turn in turns if turn.error_days is not None)
    return fmean(errors)


def _by_day(records: Records, at: NDArray[np.int64], values: Array) -> Mapping[date, float]:
    return {records.days[place]: value for place, value in zip(at.tolist(), values.tolist(), strict=True)}


def fit_spread(records: Records, inputs: Sequence[Inputs], means: Sequence[Array]) -> Spread:
    """The log of the error's size regressed on the spread's inputs, scaled to hold 80 % of the days."""
    at = [records.scored(s) for s in records.stations]
    on = [spread_inputs(_on(its, days)) for its, days in zip(inputs, at, strict=True)]
    x = np.concatenate([np.stack([its[name] for name in SPREAD_INPUTS], -1) for its in on])
    sizes = np.concatenate(
        [
            np.abs(mean[days] - records.soil_c[days, s])
            for s, (mean, days) in enumerate(zip(means, at, strict=True))
        ]
    )
    share = np.concatenate([np.full(len(days), 1 / len(days)) for days in at])
    root = np.sqrt(share)
    weights = np.linalg.lstsq(x * root[:, None], np.log(sizes + AROUND_ZERO_C) * root, rcond=None)[0]
    ratio = sizes / np.exp(x @ weights)
    order = np.argsort(ratio)
    within = np.searchsorted(np.cumsum(share[order]) / share.sum(), 0.80)
    weights[0] += np.log(ratio[order][within] / SD_OF_80)
    return Spread(tuple(weights.tolist()))


def _on(inputs: Inputs, at: NDArray[np.int64]) -> Inputs:
    return {name: values[at] for name, values in inputs.items()}
