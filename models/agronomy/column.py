"""One day of heat in a column of soil, many sites at once: implicit steps, nothing through the bottom.

Arrays are (layers, sites), (steps, sites) or (sites,).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from models.agronomy.daily_course import STEPS
from models.agronomy.sky import Array

STEP_S = 86_400.0 / STEPS

# The fourth layer is centred at 10 cm; the second reaches from 2 to 5 cm, where larvae and nematodes are.
# In all 5.9 m, some three damping depths of the year (engineering choice).
LAYERS_M = np.array([0.02, 0.03, 0.03, 0.04, 0.06, 0.10, 0.15, 0.23, 0.34, 0.60, 0.90, 1.4, 2.0])
DEPTHS_M = np.cumsum(LAYERS_M) - LAYERS_M / 2
AT_10_CM, AT_2_TO_5_CM = 3, 1


@dataclass(frozen=True, slots=True)
class Column:
    """A day's heat equation, eliminated once for all its steps. `outside` couples to the top by the film."""

    stored: Array
    top: Array
    down: Array
    up: Array
    inverse: Array

    def step(self, layers_c: Array, outside_c: Array) -> Array:
        """Layers after one step; `outside_c` is the air that would give the same flux without sun."""
        known = self.stored * layers_c
        rows = list(known)  # views: looking a row up costs as much as adding one
        rows[0] += self.top * outside_c
        product = np.empty_like(rows[0])
        for above, row, down in zip(rows[:-1], rows[1:], self.down, strict=True):
            np.multiply(down, above, out=product)
            row += product
        known *= self.inverse
        for below, row, up in zip(rows[:0:-1], rows[-2::-1], self.up[::-1], strict=True):
            np.multiply(up, below, out=product)
            row += product
        return known


def column(conductivity: Array, capacity: Array, film: Array) -> Column:
    """The equation under a film (W/m² K) of soil with this conductivity (W/m K) and capacity (J/m³ K)."""
    thick = LAYERS_M[:, None]
    stored = capacity * thick / STEP_S
    top = 1 / (1 / film + LAYERS_M[0] / 2 / conductivity)
    between = conductivity / ((thick[:-1] + thick[1:]) / 2)
    diagonal = stored.copy()
    diagonal[0] += top
    diagonal[:-1] += between
    diagonal[1:] += between
    down, inverse = np.empty_like(between), np.empty_like(diagonal)
    inverse[0] = 1 / diagonal[0]
    for i in range(1, len(LAYERS_M)):
        down[i - 1] = between[i - 1] * inverse[i - 1]
        inverse[i] = 1 / (diagonal[i] - between[i - 1] * down[i - 1])
    return Column(stored, top, down, between * inverse[:-1], inverse)


def column_day(of: Column, layers_c: Array, outside_c: Array) -> tuple[Array, Array]:
    """Layers at the end of a day under `outside_c` (steps, sites), and the day's means down to 10 cm."""
    total = np.zeros_like(layers_c[: AT_10_CM + 1])
    for step in range(STEPS):
        layers_c = of.step(layers_c, outside_c[step])
        total += layers_c[: AT_10_CM + 1]
    return layers_c, total / STEPS
