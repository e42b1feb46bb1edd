"""Soil below a crop from air alone. Kätterer & Andrén 2009, Acta Agric. Scand. B 59:1-10.

As coded in the R package reclim (the paper was not seen): a surface that follows the air, warmer below a
thin canopy, and a soil that takes a share of the difference a day. Green area index 0: station soil is
measured in bare plots or under short grass, and no source says which (engineering choice; of 0, 1 and 2 the
kindest to this peer).
"""

from __future__ import annotations

from math import exp

import numpy as np

from models.agronomy.reference.station import Series, StationWeather

DEPTH_CM = 10.0
GREEN_AREA_INDEX = 0.0

# reclim takes the leaf area for eight tenths of the green area.
LEAF_SHARE = 0.8


def surface_c(air_c: float, green_area_index: float) -> float:
    """Temperature at the soil's surface, °C, from the day's mean air."""
    if air_c < 0:
        return 0.20 * air_c
    return air_c * (0.95 + 0.05 * exp(-0.4 * (LEAF_SHARE * green_area_index - 3)))


def soil_step_c(before_c: float, at_surface_c: float, depth_cm: float, green_area_index: float) -> float:
    """Soil a day later, °C, at the middle of a layer."""
    share = 0.24 * exp(-0.017 * depth_cm) * exp(-0.15 * green_area_index)
    return before_c + share * (at_surface_c - before_c)


def katterer_andren_c(weather: StationWeather) -> Series:
    """Soil at 10 cm, °C; begins as the first day's air."""
    soil_c = float(weather.mean_c[0])
    reached = []
    for air_c in weather.mean_c.tolist():
        soil_c = soil_step_c(soil_c, surface_c(air_c, GREEN_AREA_INDEX), DEPTH_CM, GREEN_AREA_INDEX)
        reached.append(soil_c)
    return np.array(reached)
