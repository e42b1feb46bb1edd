"""How far a measure would move with other years: a bootstrap that draws whole years, and a table of them.

Days and stations of one year share its weather, so a year is drawn in one piece (Künsch 1989, Annals of
Statistics 17:1217, blocks; here of calendar years). The draw is a pure function of the seed and the years.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from models.agronomy.judging import TurningDay

DRAWS = 1000
SEED = 1965
LEVEL = 0.90
WITHIN_DAYS = 3

Interval = tuple[float, float]
StationErrors = Mapping[date, float]


@dataclass(frozen=True, slots=True)
class YearDraws:
    """How often each year was drawn: shape (draws, years)."""

    years: tuple[int, ...]
    times: NDArray[np.int64]


def draw_years(years: Sequence[int], draws: int = DRAWS, seed: int = SEED) -> YearDraws:
    """As many years as there are, with replacement, `draws` times."""
    chosen = tuple(sorted(set(years)))
    if not chosen:
        return YearDraws((), np.zeros((draws, 0), dtype=np.int64))
    shares = np.full(len(chosen), 1 / len(chosen))
    return YearDraws(chosen, np.random.default_rng(seed).multinomial(len(chosen), shares, size=draws))


def rmse_interval(stations: Sequence[StationErrors], draws: YearDraws) -> Interval | None:
    """90 % interval of the mean over stations of their RMSE, °C; None where no day is judged."""
    squares = _by_year(stations, draws.years, lambda errors: np.square(errors).sum())
    counts = _by_year(stations, draws.years, len)
    days = draws.times @ counts.T
    # A station none of whose years was drawn has no error in that draw.
    mean_squares = np.divide(draws.times @ squares.T, days, out=np.full(days.shape, np.nan), where=days > 0)
    known = ~np.isnan(mean_squares)
    totals = np.where(known, np.sqrt(np.where(known, mean_squares, 0.0)), 0.0).sum(axis=1)
    return _interval(totals[known.any(axis=1)] / known.sum(axis=1)[known.any(axis=1)])


def turning_intervals(turns: Sequence[TurningDay], draws: YearDraws) -> dict[str, Interval | None]:
    """90 % intervals of the measures of an opening or closing, by the names of `TurningErrors`."""
    judged = [(turn.year, turn.error_days) for turn in turns if turn.error_days is not None]
    ordered = sorted(judged, key=lambda pair: abs(pair[1]))
    errors = np.array([error for _, error in ordered], dtype=np.float64)
    sizes = np.abs(errors)
    weights = draws.times[:, [draws.years.index(year) for year, _ in ordered]]
    weights = weights[weights.sum(axis=1) > 0]
    seasons = weights.sum(axis=1)
    return {
        "mean_abs_days": _interval(weights @ sizes / seasons),
        "median_abs_days": _interval(_drawn_quantile(sizes, weights, 0.5)),
        "p90_abs_days": _interval(_drawn_quantile(sizes, weights, 0.9)),
        "bias_days": _interval(weights @ errors / seasons),
        "within_3_days": _interval(weights @ (sizes <= WITHIN_DAYS) / seasons),
    }


def _drawn_quantile(
    ordered: NDArray[np.float64], weights: NDArray[np.int64], share: float
) -> NDArray[np.float64]:
    """Of each draw, in which `ordered[i]` occurs `weights[draw, i]` times; linear between neighbours."""
    reached = weights.cumsum(axis=1)
    if reached.size == 0:
        return np.zeros(0)
    rank = share * (reached[:, -1] - 1)
    below, above = (ordered[(reached <= at[:, None]).sum(axis=1)] for at in (np.floor(rank), np.ceil(rank)))
    between: NDArray[np.float64] = below + (rank - np.floor(rank)) * (above - below)
    return between


def rmse_by_year(stations: Sequence[StationErrors]) -> dict[int, float]:
    """RMSE of each year's days at all stations together, °C."""
    years = sorted({day.year for errors in stations for day in errors})
    squares = _by_year(stations, years, lambda errors: np.square(errors).sum()).sum(axis=0)
    counts = _by_year(stations, years, len).sum(axis=0)
    return dict(zip(years, np.sqrt(squares / counts).tolist(), strict=True))


def _by_year(
    stations: Sequence[StationErrors], years: Sequence[int], measure: Callable[[NDArray[np.float64]], float]
) -> NDArray[np.float64]:
    """Shape (stations, years): the measure of each year's errors."""
    found = np.zeros((len(stations), len(years)))
    for row, errors in enumerate(stations):
        ordered: dict[int, list[float]] = {year: [] for year in years}
        for day, error in errors.items():
            ordered[day.year].append(error)
        found[row] = [measure(np.array(ordered[year])) for year in years]
    return found


def _interval(values: Sequence[float] | NDArray[np.float64]) -> Interval | None:
    if not len(values):
        return None
    low, high = np.quantile(values, [(1 - LEVEL) / 2, (1 + LEVEL) / 2])
    return float(low), float(high)
