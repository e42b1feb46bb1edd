"""The error that a peer keeps after the kindest simple help: a mean and a slope fitted elsewhere. Pure."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date

import numpy as np
from numpy.typing import NDArray

Means = Mapping[date, float]
Pairs = tuple[NDArray[np.float64], NDArray[np.float64]]

# Two numbers need two days that differ.
LEAST_DAYS = 2


def affine_rmses_c(stations: Sequence[tuple[Means, Means]]) -> list[float | None]:
    """RMSE at each station, °C, of `a + b · estimate`, the two numbers fitted on all *other* stations.

    `stations` are pairs of estimated and measured means. None where there is nothing to fit or to judge.
    """
    pairs = [_pairs(estimated, measured) for estimated, measured in stations]
    return [_unseen_rmse_c(pairs, index) for index in range(len(pairs))]


def _unseen_rmse_c(pairs: Sequence[Pairs], index: int) -> float | None:
    others = [pair for other, pair in enumerate(pairs) if other != index]
    estimated = np.concatenate([pair[0] for pair in others]) if others else np.zeros(0)
    here, truly = pairs[index]
    if len(here) == 0 or len(np.unique(estimated)) < LEAST_DAYS:
        return None
    measured = np.concatenate([pair[1] for pair in others])
    design = np.stack([np.ones_like(estimated), estimated], axis=1)
    (mean_c, slope), *_ = np.linalg.lstsq(design, measured, rcond=None)
    return float(np.sqrt(np.mean(np.square(mean_c + slope * here - truly))))


def _pairs(estimated: Means, measured: Means) -> Pairs:
    days = [day for day in measured if day in estimated]
    return np.array([estimated[day] for day in days]), np.array([measured[day] for day in days])
