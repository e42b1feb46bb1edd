"""What the column gets wrong in the same way everywhere, put right; and how far off it then still is.

Inputs are named arrays (sites,). Everything is added up term by term, so that the bits of one site do not
depend on how many others stand beside it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from models.agronomy.sky import Array

Inputs = Mapping[str, Array]

# Both keep the correction harmless where weather is unlike any it was fitted on: in the records it
# stayed within 1.9 °C (engineering choice).
MOST_SPREADS = 3.0
MOST_C = 2.0

PLAIN_INPUTS = (
    "column",
    "top_minus_column",
    "air_minus_slow",
    "air_change",
    "clear",
    "clear_before",
    "topsoil_filled",
    "log_rain",
    "radiation",
    "radiation_minus_slow",
)
WINDY_INPUTS = (*PLAIN_INPUTS, "range_clear", "log_wind")
SPREAD_INPUTS = ("one", "season", "dryness", "clearness", "air_away", "wet")


@dataclass(frozen=True, slots=True)
class Correction:
    """constant + linear · x + x · quadratic x, °C; x: inputs less `mean`, over `spread`, within ±3.

    `quadratic` has a row for each input, from its own column on.
    """

    inputs: tuple[str, ...]
    mean: tuple[float, ...]
    spread: tuple[float, ...]
    constant: float
    linear: tuple[float, ...]
    quadratic: tuple[tuple[float, ...], ...]

    def standardised(self, inputs: Inputs) -> list[Array]:
        """x, one array for each input."""
        return [
            np.minimum(np.maximum((inputs[name] - mean) / spread, -MOST_SPREADS), MOST_SPREADS)
            for name, mean, spread in zip(self.inputs, self.mean, self.spread, strict=True)
        ]

    def added_c(self, inputs: Inputs) -> Array:
        """The quadratic form, within ±2 °C."""
        x = self.standardised(inputs)
        total = np.full_like(x[0], self.constant)
        for i, (linear, row) in enumerate(zip(self.linear, self.quadratic, strict=True)):
            slope = np.full_like(total, linear)
            for j, weight in enumerate(row, start=i):
                slope += weight * x[j]
            total += slope * x[i]
        return np.minimum(np.maximum(total, -MOST_C), MOST_C)


@dataclass(frozen=True, slots=True)
class Spread:
    """Standard deviation at a site never seen: exp(weights · inputs of the spread), °C."""

    weights: tuple[float, ...]

    def sd_c(self, inputs: Inputs) -> Array:
        """Of one day, (sites,)."""
        x = spread_inputs(inputs)
        log_sd = np.zeros_like(inputs["column"])
        for weight, name in zip(self.weights, SPREAD_INPUTS, strict=True):
            log_sd += weight * x[name]
        return np.exp(log_sd)


def spread_inputs(inputs: Inputs) -> dict[str, Array]:
    """The sun's season, dryness, clearness, how far air is from soil, rain: where errors are wider."""
    return {
        "one": np.ones_like(inputs["column"]),
        "season": (inputs["radiation"] - 23) / 12,
        "dryness": 1 - inputs["topsoil_filled"],
        "clearness": inputs["range_clear"] - 1,
        "air_away": np.abs(inputs["air_minus_column"]) / 5,
        "wet": np.minimum(inputs["log_rain"], 2.0),
    }
