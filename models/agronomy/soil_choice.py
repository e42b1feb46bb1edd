"""The whole fit of the soil estimate: ridge, rise and spread chosen on stations left out. Pure."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from statistics import fmean

import numpy as np
from numpy.typing import NDArray

from models.agronomy.clearness_fit import fit_clearness
from models.agronomy.correction import Correction, Spread
from models.agronomy.correction_fit import Inputs, fit_correction, fit_spread, fold_inputs
from models.agronomy.fitted import RIDGE
from models.agronomy.judging import judge_spring
from models.agronomy.sky import Array
from models.agronomy.soil_fit import Records, Stations, fit_columns, left_out
from models.agronomy.soil_laws import FITTED, Form, Laws

RIDGES = (0.0005, 0.001, 0.002, 0.005)
RISES_C = (0.0, 0.1, 0.15, 0.2, 0.25, 0.3, 0.4)

# Engineering choices: a day of opening error is worth this much daily error; openings are looked at only
# for ridges within this much of the best; each is shifted a little, as one day decides little.
DAY_WORTH_C = 0.025
CLOSE_C = 0.004
SHIFTS_C = (-0.12, -0.06, 0.0, 0.06, 0.12)


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
