"""Least squares over the memories of `soil.py`: which weights fit measured soil best. Pure."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

import numpy as np
from numpy.typing import NDArray

from models.agronomy.judging import scored_days
from models.agronomy.soil import WEIGHTS, SoilParameters, states
from models.facts.weather import UsedWeatherDay


@dataclass(frozen=True, slots=True)
class TrainingSet:
    """One station's scored days: memories of shape (days, weights), measured soil of shape (days,), °C."""

    memories: NDArray[np.float64]
    measured_c: NDArray[np.float64]


def training_set(
    days: Sequence[UsedWeatherDay],
    measured_c: Mapping[date, float],
    latitude_degrees: float,
    by: SoilParameters,
) -> TrainingSet:
    """The scored days of one station; `by` gives the shares of the memories, its weights are not used."""
    scored = scored_days(days[0].day, measured_c)
    rows = [
        ((1.0, *state.memories), scored[state.last_day])
        for state in states(None, days, latitude_degrees, by)
        if state.last_day in scored
    ]
    shape = (len(rows), len(WEIGHTS))
    return TrainingSet(
        np.array([row for row, _ in rows], dtype=np.float64).reshape(shape),
        np.array([mean_c for _, mean_c in rows], dtype=np.float64),
    )


def fit_weights(sets: Sequence[TrainingSet], by: SoilParameters) -> SoilParameters:
    """`by` with the weights that give the least sum of squares over all days of all sets.

    ValueError where the days cannot tell the weights apart (too few, or all alike).
    """
    design = np.concatenate([station.memories for station in sets])
    measured_c = np.concatenate([station.measured_c for station in sets])
    weights, _, rank, _ = np.linalg.lstsq(design, measured_c, rcond=None)
    if rank < len(WEIGHTS):
        raise ValueError(f"{len(measured_c)} days determine {rank} of {len(WEIGHTS)} weights: add records")
    return replace(by, **{name: float(weight) for name, weight in zip(WEIGHTS, weights, strict=True)})


def unseen_station_sd_c(sets: Sequence[TrainingSet], by: SoilParameters) -> float:
    """Root mean square of the RMSEs at each station when the others gave the weights, °C."""
    squares = [
        float(np.mean(np.square(station.memories @ _weights(sets, index, by) - station.measured_c)))
        for index, station in enumerate(sets)
    ]
    return float(np.sqrt(np.mean(squares)))


def leave_out(sets: Sequence[TrainingSet], index: int) -> list[TrainingSet]:
    """All sets but the one at `index`."""
    return [station for other, station in enumerate(sets) if other != index]


def _weights(sets: Sequence[TrainingSet], index: int, by: SoilParameters) -> NDArray[np.float64]:
    fitted = fit_weights(leave_out(sets, index), by)
    return np.array([getattr(fitted, name) for name in WEIGHTS], dtype=np.float64)
