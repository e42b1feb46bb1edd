"""The sun above a site: what falls outside the atmosphere, how long, and what share reaches the ground.

Arrays hold sites; a plain number stands for one.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

WET_DAY_MM = 0.2  # the least that a gauge tells from dew (common practice)
LEAST_SHARE, MOST_SHARE = 0.05, 0.8

# A run of zeros stands for "not observed" in the records; no day in them is darker.
DARKEST_MJ_M2 = 0.2


@dataclass(frozen=True, slots=True)
class Sky:
    """Radiation outside the atmosphere (MJ/m² a day) and day length (h)."""

    radiation_mj_m2: Array
    day_length_h: Array


@dataclass(frozen=True, slots=True)
class Clearness:
    """Share of the outer radiation that reaches the ground, fitted where radiation is measured.

    base + by_range · √(range / the site's own mean range) + wet on days of 0.2 mm + by_log_rain · ln(1 + mm);
    with sun hours angstrom_base + angstrom_sun · hours / day length (Ångström 1924; FAO-56, equation 35).
    """

    base: float | Array
    by_range: float | Array
    wet: float | Array
    by_log_rain: float | Array
    angstrom_base: float | Array
    angstrom_sun: float | Array


def sky_at(latitude_degrees: Array | float, day_of_year: int) -> Sky:
    """FAO-56 (Allen et al. 1998), equations 21, 23 to 25 and 34."""
    latitude = np.radians(np.asarray(latitude_degrees, dtype=np.float64))
    season = 2 * np.pi * day_of_year / 365
    declination = 0.409 * np.sin(season - 1.39)
    # Beyond the polar circles the sun does not set or does not rise: the angle is then pi or 0.
    sunset = np.arccos(np.clip(-np.tan(latitude) * np.tan(declination), -1.0, 1.0))
    height = sunset * np.sin(latitude) * np.sin(declination)
    height = height + np.cos(latitude) * np.cos(declination) * np.sin(sunset)
    inverse_distance = 1 + 0.033 * np.cos(season)
    return Sky(24 * 60 / np.pi * 0.0820 * inverse_distance * height, 24 / np.pi * sunset)


def extraterrestrial_radiation_mj_m2(latitude_degrees: float, day_of_year: int) -> float:
    """Ra in MJ/m² a day at one latitude."""
    return float(sky_at(latitude_degrees, day_of_year).radiation_mj_m2)


def share_of_sun(by: Clearness, range_clear: Array, rain_mm: Array) -> Array:
    """Share told from the day's temperature range (`range_clear`, see `Clearness`) and rain."""
    wet = rain_mm >= WET_DAY_MM
    share = by.base + by.by_range * range_clear + by.wet * wet + by.by_log_rain * np.log1p(rain_mm)
    return np.clip(share, LEAST_SHARE, MOST_SHARE)


def measured_share(
    by: Clearness,
    estimated: Array,
    outer_mj_m2: Array,
    day_length_h: Array,
    sun_h: Array | None,
    radiation_mj_m2: Array | None,
) -> Array:
    """`estimated`, replaced by what sun hours tell where there are some, and that by measured radiation."""
    share = estimated
    if sun_h is not None:
        told = by.angstrom_base + by.angstrom_sun * sun_h / np.maximum(day_length_h, 0.1)
        share = np.where(np.isnan(sun_h), share, told)
    if radiation_mj_m2 is not None:
        told = radiation_mj_m2 / np.maximum(outer_mj_m2, 0.1)
        share = np.where(radiation_mj_m2 > DARKEST_MJ_M2, told, share)
    return share
