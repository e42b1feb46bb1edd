"""Water of turf's top soil: reference evapotranspiration, the daily account of a layer, and its surplus."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import radians, sqrt

from models.facts.place import Texture
from models.facts.rules import WateringRules
from models.facts.weather import UsedWeatherDay

# Field capacity less wilting point, m3/m3: FAO-56 (Allen et al. 1998), table 19, from memory:
# sand 0.05 to 0.11, loam 0.13 to 0.18, clay 0.12 to 0.20.
AVAILABLE_WATER = {Texture.SAND: 0.08, Texture.LOAM: 0.17, Texture.CLAY: 0.16}


def reference_et_mm(days: Sequence[UsedWeatherDay], latitude_degrees: float) -> tuple[float, ...]:
    """Reference evapotranspiration of each day, mm: Hargreaves, FAO-56 equation 52, with pyet's radiation.

    ValueError for a day whose minimum is above its maximum.
    """
    if not days:
        return ()
    _refuse_swapped(days)
    import pyet  # here and not above: heavy, and the command line starts without it

    sun_mj_m2 = _extraterrestrial_mj_m2(latitude_degrees)
    evaporated = []
    for day in days:
        mean_c = (day.temperature_min_c + day.temperature_max_c) / 2
        sun_mm = sun_mj_m2[day.day.timetuple().tm_yday - 1] / pyet.calc_lambda(mean_c)
        range_c = day.temperature_max_c - day.temperature_min_c
        depth_mm = 0.0023 * (mean_c + 17.8) * sqrt(range_c) * sun_mm
        evaporated.append(0.0 if depth_mm < 0 else depth_mm)
    return tuple(evaporated)


@lru_cache(maxsize=256)
def _extraterrestrial_mj_m2(latitude_degrees: float) -> tuple[float, ...]:
    """Radiation outside the atmosphere by day of the year, MJ/m2: FAO-56 equation 21, by pyet.

    Kept by latitude: a call takes milliseconds whatever its length, and every morning asks for a few days.
    """
    import pandas as pd
    import pyet

    leap_year = pd.date_range("2000-01-01", "2000-12-31")
    return tuple(float(mj_m2) for mj_m2 in pyet.extraterrestrial_r(leap_year, radians(latitude_degrees)))


def _refuse_swapped(days: Sequence[UsedWeatherDay]) -> None:
    for day in days:
        if day.temperature_min_c > day.temperature_max_c:
            raise ValueError(
                f"{day.day}: minimum {day.temperature_min_c} °C is above maximum {day.temperature_max_c} °C"
            )


def available_water_mm(texture: Texture, layer_m: float) -> float:
    """Water that grass can take from a layer of `layer_m` filled to field capacity, mm."""
    return AVAILABLE_WATER[texture] * layer_m * 1000


def turf_et_mm(evaporation_mm: float, rules: WateringRules) -> float:
    """What mown turf draws on a day of that reference evapotranspiration, mm."""
    return rules.crop_coefficient * evaporation_mm


def effective_rain_mm(rain_mm: float, rules: WateringRules) -> float:
    """The part of a day's rain that enters the soil, mm: none of a shower, a share of all of a wetter day."""
    return 0.0 if rain_mm < rules.rain_ignored_mm else rules.effective_rain * rain_mm


@dataclass(frozen=True, slots=True)
class LayerDay:
    """A layer's account at the end of a day, mm.

    What came in and went out is conserved: deficit after - deficit before
    = demand - `unmet_mm` - gained + `drained_mm`.
    """

    deficit_mm: float
    drained_mm: float
    unmet_mm: float


def account(deficit_mm: float, demand_mm: float, gained_mm: float, capacity_mm: float) -> LayerDay:
    """One day's account: water gained fills the layer, the rest drains; demand empties it, no further.

    FAO-56 equation 85 with the root zone depletion held between 0 and what the layer can give.
    """
    after_mm = deficit_mm + demand_mm - gained_mm
    held_mm = min(max(after_mm, 0.0), capacity_mm)
    return LayerDay(held_mm, max(0.0, -after_mm), max(0.0, after_mm - capacity_mm))


def next_deficit_mm(deficit_mm: float, demand_mm: float, gained_mm: float, capacity_mm: float) -> float:
    """The deficit after a day of `demand_mm` out and `gained_mm` in, within 0 and `capacity_mm`."""
    return account(deficit_mm, demand_mm, gained_mm, capacity_mm).deficit_mm


def drought_share(deficit_mm: float, capacity_mm: float, readily_available: float) -> float:
    """The share of its demand that turf can still draw, 1 to 0: FAO-56 equation 84 (Ks).

    `readily_available` is the share of the available water that is drawn without stress (FAO-56's p).
    """
    left_mm = capacity_mm - deficit_mm
    return min(1.0, left_mm / ((1 - readily_available) * capacity_mm))


def next_surplus_mm(surplus_mm: float, arriving_mm: float, drains_mm_a_day: float) -> float:
    """Water above field capacity still standing in the layer after a day's drainage, mm."""
    return max(0.0, surplus_mm + arriving_mm - drains_mm_a_day)
