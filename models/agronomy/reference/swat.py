"""The daily equation of EPIC and SWAT. Neitsch et al. 2011, SWAT theoretical documentation 2009, 1:1.3.

Williams et al. 1984 (EPIC): soil keeps 0.8 of yesterday and takes 0.2 of a value between the surface and
the year's mean air, weighted by depth over damping depth. Bare surface from the air's range and the sun.
Density, profile and water are those of the worked check in the tests (engineering choice: a loam in
moderate state); halving the water changes the weight at 10 cm by a few hundredths.
"""

from __future__ import annotations

from math import exp, log

import numpy as np

from models.agronomy.reference.station import Series, StationWeather

DEPTH_MM = 100.0
PROFILE_MM = 1000.0
BULK_DENSITY_G_CM3 = 1.3
SOIL_WATER_MM = 100.0
LAG = 0.8

# Of bare moist soil (from memory); 0.23, of grass, makes this peer colder and worse.
ALBEDO = 0.13


def damping_depth_mm(bulk_density_g_cm3: float, soil_water_mm: float, profile_mm: float) -> float:
    """Equations 1:1.3.6 to 1:1.3.8."""
    deepest_mm = greatest_damping_depth_mm(bulk_density_g_cm3)
    wetness = soil_water_mm / ((0.356 - 0.144 * bulk_density_g_cm3) * profile_mm)
    return deepest_mm * exp(log(500 / deepest_mm) * ((1 - wetness) / (1 + wetness)) ** 2)


def greatest_damping_depth_mm(bulk_density_g_cm3: float) -> float:
    """Equation 1:1.3.6."""
    return 1000 + 2500 * bulk_density_g_cm3 / (bulk_density_g_cm3 + 686 * exp(-5.63 * bulk_density_g_cm3))


def depth_weight(depth_over_damping: float) -> float:
    """Equation 1:1.3.4: the share of the year's mean, 0 at the surface, towards 1 below."""
    return depth_over_damping / (depth_over_damping + exp(-0.8669 - 2.0775 * depth_over_damping))


def soil_step_c(before_c: float, surface_c: float, annual_c: float, weight: float) -> float:
    """Equation 1:1.3.3: soil a day later, °C."""
    return LAG * before_c + (1 - LAG) * (weight * (annual_c - surface_c) + surface_c)


def bare_surface_c(weather: StationWeather, albedo: float = ALBEDO) -> Series:
    """Equations 1:1.3.9 and 1:1.3.10, °C."""
    gain = (weather.radiation_mj_m2 * (1 - albedo) - 14) / 20
    surface_c: Series = weather.mean_c + gain * (weather.most_c - weather.least_c) / 2
    return surface_c


def below_c(surface_c: Series, annual_c: Series) -> Series:
    """Soil at 10 cm below a surface, °C; begins as the first day's surface."""
    damping_mm = damping_depth_mm(BULK_DENSITY_G_CM3, SOIL_WATER_MM, PROFILE_MM)
    weight = depth_weight(DEPTH_MM / damping_mm)
    soil_c = float(surface_c[0])
    reached = []
    for above_c, year_c in zip(surface_c.tolist(), annual_c.tolist(), strict=True):
        soil_c = soil_step_c(soil_c, above_c, year_c, weight)
        reached.append(soil_c)
    return np.array(reached)


def swat_c(weather: StationWeather) -> Series:
    """Soil at 10 cm below a bare surface, °C; the year's mean is that of the air so far."""
    return below_c(bare_surface_c(weather), weather.mean_so_far_c)
