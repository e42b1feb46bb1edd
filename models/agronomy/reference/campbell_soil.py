"""A column of soil that conducts heat. Campbell 1985, Soil Physics with BASIC, chapter 4 (Elsevier).

Equations as coded in public model collections (of the book, the program's outline is from memory): nodes
whose distances grow by half from 5 mm, conductivity and heat capacity from density, clay and water, and a
time step weighted 0.6 forwards.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, sqrt

import numpy as np
from numpy.typing import NDArray

FIRST_ELEMENT_M = 0.005
GROWTH = 1.5
ELEMENTS = 15
FORWARD = 0.6

Nodes = NDArray[np.float64]


def conductivity_w_m_k(bulk_density: float, clay_share: float, water_share: float) -> float:
    """Thermal conductivity, W/(m K), of soil of that density (g/cm³), clay (0 to 1) and water (m³/m³)."""
    dry_end = 0.03 + 0.1 * bulk_density**2
    wet_end = 0.65 - 0.78 * bulk_density + 0.60 * bulk_density**2
    rise = 1 + 2.6 / sqrt(clay_share)
    wetted = wet_end + 1.06 * bulk_density * water_share
    return wetted - (wet_end - dry_end) * exp(-((rise * water_share) ** 4))


def heat_capacity_j_m3_k(bulk_density: float, water_share: float) -> float:
    """Volumetric heat capacity, J/(m³ K): minerals of 2.65 g/cm³, and water."""
    return 2.39e6 * bulk_density / 2.65 + 4.18e6 * water_share


def node_depths_m() -> Nodes:
    """Depths of the nodes, the surface first; the last one is the ground that does not change."""
    elements = FIRST_ELEMENT_M * GROWTH ** np.arange(ELEMENTS)
    depths: Nodes = np.concatenate([[0.0], np.cumsum(elements)])
    return depths


@dataclass(frozen=True, slots=True)
class Column:
    """The step of one soil, solved once: what it keeps, and what a watt at the surface adds to each node."""

    depths_m: Nodes
    kept: Nodes  # shape (nodes, nodes)
    per_watt: Nodes  # K for each W/m² put in at the surface
    from_below: Nodes  # K for each °C of the ground below

    def step(
        self, before_c: Nodes, air_c: float, air_before_c: float, conductance: float, flux_w_m2: float
    ) -> Nodes:
        """Temperatures a step later, °C, under air of that conductance (W/(m² K)) and an added flux.

        `before_c` holds all nodes, the ground below last. The air's conductance changes one number of the
        solved system, so its effect is added exactly (Sherman & Morrison 1950).
        """
        exchange = FORWARD * air_c + (1 - FORWARD) * (air_before_c - before_c[0])
        free = self.kept @ before_c[:-1] + self.from_below * before_c[-1]
        driven = free + self.per_watt * (conductance * exchange + flux_w_m2)
        resisted = FORWARD * conductance
        share = resisted * driven[0] / (1 + resisted * self.per_watt[0])
        return np.append(driven - share * self.per_watt, before_c[-1])


def column(conductivity: float, heat_capacity: float, step_s: float) -> Column:
    """The column of a uniform soil, W/(m K) and J/(m³ K), for steps of that length."""
    depths = node_depths_m()
    passing = conductivity / np.diff(depths)
    above = np.concatenate([[0.0], passing[:-1]])
    widths = np.diff(depths)
    held = heat_capacity * (widths + np.concatenate([[0.0], widths[:-1]])) / 2 / step_s
    flow = np.diag(above + passing) - np.diag(passing[:-1], 1) - np.diag(passing[:-1], -1)
    solved = np.asarray(np.linalg.inv(np.diag(held) + FORWARD * flow), dtype=np.float64)
    kept = solved @ (np.diag(held) - (1 - FORWARD) * flow)
    # The ground below stays as it is, so both halves of the step see the same.
    return Column(depths, kept, solved[:, 0].copy(), solved[:, -1] * float(passing[-1]))
