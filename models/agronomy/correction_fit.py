"""Fitting what is added to the column: the quadratic correction, the rise of spring and the spread. Pure.

Ridge, rise and spread are chosen on stations left out of the fit that they are tried with.
"""

from __future__ import annotations

from collections.abc import Sequence

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
from models.agronomy.judging import SD_OF_80
from models.agronomy.sky import Array
from models.agronomy.soil_fit import (
    Records,
    Stations,
    run,
    side_by_side,
)
from models.agronomy.soil_laws import Laws

INPUTS = (*WINDY_INPUTS, "rise", "air_minus_column")
SITE_EFFECT = 0.01

AROUND_ZERO_C = 0.05

Inputs = dict[str, Array]


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
