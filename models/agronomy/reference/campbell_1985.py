"""Heat column under air and sun. Campbell 1985, Soil Physics with BASIC, chapters 4 and 12 (Elsevier).

Hourly: net radiation at air temperature, heat exchange by wind with its stability and by radiation, and
evaporation, over `campbell_soil.Column`. Equations and defaults as coded in public model collections:
roughness of 57 mm, wind of 3 m/s at 1.2 m where none is measured, emissivity 0.96, density 1.4 g/cm³.
Albedo 0.23 and reference evapotranspiration are FAO-56's for grass. Water 0.25 m³/m³ and clay 0.2 are an
engineering choice (a moist loam). A dry surface, without evaporation, is 2 °C too warm on soil-records.
"""

from __future__ import annotations

from math import log, sqrt

import numpy as np
from numpy.typing import NDArray

from models.agronomy.reference.campbell_soil import (
    Column,
    column,
    conductivity_w_m_k,
    heat_capacity_j_m3_k,
)
from models.agronomy.reference.station import Series, StationWeather

DEPTH_M = 0.10
STEPS = 24
STEP_S = 86_400 / STEPS
BULK_DENSITY = 1.4
CLAY_SHARE = 0.2
WATER_SHARE = 0.25
ALBEDO = 0.23
EMISSIVITY = 0.96
WARMEST_HOUR = 14.0
ROUGHNESS_M = 0.057
INSTRUMENT_M = 1.2
WIND_M_S = 3.0

# The correction for stability has no answer in still air; FAO-56 keeps wind at or above this (from memory).
LEAST_WIND_M_S = 0.5

STEFAN_BOLTZMANN = 5.67e-8
KELVIN = 273.16
KARMAN = 0.41
VAPORISATION_J_KG = 2.465e6
AIR_HEAT_J_M3_K = 1010 * 1.2
FIRST_YEAR_DAYS = 365

# FAO-56 (Allen et al. 1998), equation 47: the profile over short grass, from 10 m down to the instrument.
FROM_10M = log(67.8 * INSTRUMENT_M - 5.42) / log(67.8 * 10 - 5.42)

Hours = NDArray[np.float64]  # shape (days, STEPS)


def campbell_c(weather: StationWeather) -> Series:
    """Daily mean at 10 cm, °C; the ground below has the mean of the first year's air."""
    soil = column(
        conductivity_w_m_k(BULK_DENSITY, CLAY_SHARE, WATER_SHARE),
        heat_capacity_j_m3_k(BULK_DENSITY, WATER_SHARE),
        STEP_S,
    )
    air_c = hourly_air_c(weather.least_c, weather.most_c)
    wind = np.where(np.isnan(weather.wind_10m_m_s), WIND_M_S, weather.wind_10m_m_s * FROM_10M)
    begin_c = float(np.mean(weather.mean_c[:FIRST_YEAR_DAYS]))
    flux_w_m2 = hourly_flux_w_m2(weather, air_c)
    return _daily_c(soil, air_c, flux_w_m2, np.maximum(wind, LEAST_WIND_M_S), begin_c)


def _daily_c(soil: Column, air_c: Hours, flux_w_m2: Hours, wind_m_s: Series, begin_c: float) -> Series:
    nodes = np.full(len(soil.depths_m), begin_c)
    before_c = float(air_c[0, 0])
    # Linear between the two nodes about 10 cm.
    below = int(np.searchsorted(soil.depths_m, DEPTH_M))
    gap_m = soil.depths_m[below] - soil.depths_m[below - 1]
    share = float((DEPTH_M - soil.depths_m[below - 1]) / gap_m)
    means = []
    for hours_c, hours_w_m2, wind in zip(air_c.tolist(), flux_w_m2.tolist(), wind_m_s.tolist(), strict=True):
        total_c = 0.0
        for now_c, flux in zip(hours_c, hours_w_m2, strict=True):
            conductance = conductance_w_m2_k(wind, float(nodes[0]), now_c)
            nodes = soil.step(nodes, now_c, before_c, conductance, flux)
            total_c += (1 - share) * nodes[below - 1] + share * nodes[below]
            before_c = now_c
        means.append(float(total_c) / STEPS)
    return np.array(means)


def hourly_air_c(least_c: Series, most_c: Series) -> Hours:
    """Air at the end of each hour, °C: a sine with its maximum at 14, its minimum twelve hours before.

    Until that minimum the air falls on a line from yesterday's midnight.
    """
    hour = np.arange(1, STEPS + 1) * 24 / STEPS
    wave = np.sin(2 * np.pi * (hour - WARMEST_HOUR + 6) / 24)
    mean_c, half_c = (least_c + most_c) / 2, (most_c - least_c) / 2
    air_c = mean_c[:, None] + half_c[:, None] * wave
    midnight_c = mean_c + half_c * wave[-1]
    yesterday_c = np.concatenate([midnight_c[:1], midnight_c[:-1]])
    coldest_hour = WARMEST_HOUR - 12
    early = hour < coldest_hour
    left = 1 - hour[early] / coldest_hour
    air_c[:, early] = least_c[:, None] + left * (yesterday_c - least_c)[:, None]
    return air_c


def hourly_flux_w_m2(weather: StationWeather, air_c: Hours) -> Hours:
    """What sun, sky and evaporation give a surface at air temperature, W/m².

    The day's sun and water are spread over its hours by the sun's height.
    """
    height = sun_heights(weather.day_of_year, weather.latitude_degrees)
    sums = height.sum(axis=1)
    share = _share(height, sums[:, None]) / STEP_S
    joules = 1e6 * (1 - ALBEDO) * weather.radiation_mj_m2 - VAPORISATION_J_KG * weather.reference_et_mm
    clear_share = _share(weather.radiation_mj_m2, 1360 * STEP_S * sums / 1e6)
    sky = _sky_emissivity(clear_share, weather.least_c)[:, None]
    flux: Hours = joules[:, None] * share + (sky - EMISSIVITY) * STEFAN_BOLTZMANN * (air_c + KELVIN) ** 4
    return flux


def _share(part: Series, whole: Series) -> Series:
    """Part of the whole; nothing of nothing, as in the polar night."""
    share: Series = part / np.where(whole > 0, whole, np.inf)
    return share


def _sky_emissivity(clear_share: Series, dew_point_c: Series) -> Series:
    """Campbell 1985, equations 12.2 and 12.3; cloud from the share of the sun that came through."""
    cloud = np.clip(2.33 - 3.33 * clear_share, 0, 1)
    emissivity: Series = (1 - 0.84 * cloud) * 0.58 * vapour_g_m3(dew_point_c) ** (1 / 7) + 0.84 * cloud
    return emissivity


def sun_heights(day_of_year: NDArray[np.int64], latitude_degrees: float) -> Hours:
    """Sine of the sun's height at the middle of each hour, 0 by night. Campbell 1985, equation 12.6."""
    season = 2 * np.pi * day_of_year / 365.25
    declination = 0.3985 * np.sin(4.869 + season + 0.03345 * np.sin(6.224 + season))
    hour = 2 * np.pi * (np.arange(STEPS) + 0.5 - STEPS / 2) / STEPS
    latitude = np.radians(latitude_degrees)
    rising = np.sqrt(1 - declination**2)[:, None] * np.cos(latitude) * np.cos(hour)
    heights: Hours = np.maximum(0.0, (declination * np.sin(latitude))[:, None] + rising)
    return heights


def vapour_g_m3(dew_point_c: Series) -> Series:
    """Vapour of air that is saturated at the day's minimum, g/m³."""
    kelvin = dew_point_c + KELVIN
    vapour: Series = np.exp(31.3716 - 6014.79 / kelvin - 0.00792495 * kelvin) / kelvin
    return vapour


def conductance_w_m2_k(wind_m_s: float, surface_c: float, air_c: float) -> float:
    """Heat exchange of surface and air by wind and by radiation, W/(m² K).

    Campbell 1985, equations 12.12 to 12.17: three rounds of the correction for stability.
    """
    momentum_m = 0.13 * ROUGHNESS_M
    heat_m = 0.2 * momentum_m
    above_m = INSTRUMENT_M - 0.77 * ROUGHNESS_M
    momentum, heat = log((above_m + momentum_m) / momentum_m), log((above_m + heat_m) / heat_m)
    by_radiation = 4 * STEFAN_BOLTZMANN * EMISSIVITY * (air_c + KELVIN) ** 3
    correct_momentum = correct_heat = 0.0
    by_wind = 0.0
    for _ in range(3):
        friction = KARMAN * wind_m_s / (momentum + correct_momentum)
        by_wind = AIR_HEAT_J_M3_K * KARMAN * friction / (heat + correct_heat)
        flux = by_wind * (surface_c - air_c)
        stability = -KARMAN * 9.8 * INSTRUMENT_M * flux / (AIR_HEAT_J_M3_K * (air_c + KELVIN) * friction**3)
        correct_momentum, correct_heat = _corrections(stability)
    return by_wind + by_radiation


def _corrections(stability: float) -> tuple[float, float]:
    """Of momentum and of heat. Campbell 1985, equations 12.15 to 12.17."""
    if stability > 0:
        return 4.7 * stability, 4.7 * stability
    heat = -2 * log((1 + sqrt(1 - 16 * stability)) / 2)
    return 0.6 * heat, heat
