"""Surface of a short grass after Parton 1984, Soil Science 138:93-101, over the depth equation of SWAT.

As coded in public model collections (the paper was not seen): extremes at the surface from the air's, the
sun and the standing plants; the day's surface is 0.41 of its maximum and 0.59 of its minimum.
"""

from __future__ import annotations

import numpy as np

from models.agronomy.reference import swat
from models.agronomy.reference.station import Series, StationWeather

# The least for which a public model collection lets the equations speak (below it the surface is the air).
# Not fitted here: 100, chosen on soil-records itself, would bring this peer from 1.47 to 1.28 °C there.
BIOMASS_G_M2 = 150.0


def surface_extremes_c(
    least_c: Series, most_c: Series, radiation_mj_m2: Series, biomass_g_m2: float
) -> tuple[Series, Series]:
    """Minimum and maximum at the surface, °C, below `biomass_g_m2` of standing plants."""
    sun_c = 24.07 * (1 - np.exp(-0.038 * radiation_mj_m2)) + 0.35 * most_c
    return (
        least_c + 0.006 * biomass_g_m2 - 1.82,
        most_c + sun_c * (np.exp(-0.0048 * biomass_g_m2) - 0.13),
    )


def surface_c(weather: StationWeather, biomass_g_m2: float = BIOMASS_G_M2) -> Series:
    """Mean of the day at the surface, °C."""
    extremes = surface_extremes_c(weather.least_c, weather.most_c, weather.radiation_mj_m2, biomass_g_m2)
    mean_c: Series = 0.59 * extremes[0] + 0.41 * extremes[1]
    return mean_c


def parton_c(weather: StationWeather) -> Series:
    """Soil at 10 cm, °C; the year's mean is that of the air so far."""
    return swat.below_c(surface_c(weather), weather.mean_so_far_c)
