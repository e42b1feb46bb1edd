"""The ground of a site by texture: drought-dormant, waterlogged or frozen, from its soil days."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from models.agronomy.moisture import (
    account,
    available_water_mm,
    drought_share,
    next_surplus_mm,
    turf_et_mm,
)
from models.facts.place import Texture
from models.facts.rules import BusinessRules, GroundRules
from models.facts.season import Span
from models.facts.weather import SoilDay


@dataclass(frozen=True, slots=True)
class Ground:
    """The ground at the end of `day`; `unfit` says in words why it may not be treated ("" if it may)."""

    day: date
    deficit_mm: float
    capacity_mm: float
    surplus_mm: float
    unfit: str


def grounds(
    soil_days: Sequence[SoilDay], texture: Texture, rules: BusinessRules, span: Span
) -> dict[date, Ground]:
    """The ground on those of `soil_days` that lie in `span`.

    The days are in order, the account starts at field capacity on the first. All rain counts here: what
    a shower wets is drawn before the layer below is. A dried layer gives less.
    """
    by = rules.ground
    capacity_mm = available_water_mm(texture, by.layer_m)
    drains_mm = drainage_mm_a_day(texture, by)
    deficit_mm = surplus_mm = 0.0
    found = {}
    for soil in soil_days:
        share = drought_share(deficit_mm, capacity_mm, by.readily_available)
        demand_mm = share * turf_et_mm(soil.reference_et_mm, rules.watering)
        layer = account(deficit_mm, demand_mm, soil.rain_mm, capacity_mm)
        deficit_mm = layer.deficit_mm
        surplus_mm = next_surplus_mm(surplus_mm, layer.drained_mm, drains_mm)
        if soil.day in span:
            unfit = _unfit(soil, deficit_mm / capacity_mm, surplus_mm, texture, by)
            found[soil.day] = Ground(soil.day, deficit_mm, capacity_mm, surplus_mm, unfit)
    return found


def drainage_mm_a_day(texture: Texture, rules: GroundRules) -> float:
    """What drains from a layer above field capacity in a day, mm; clay is the slowest."""
    return {
        Texture.SAND: rules.sand_drains_mm_a_day,
        Texture.LOAM: rules.loam_drains_mm_a_day,
        Texture.CLAY: rules.clay_drains_mm_a_day,
    }[texture]


def _unfit(soil: SoilDay, dry_share: float, surplus_mm: float, texture: Texture, by: GroundRules) -> str:
    if soil.mean_10cm_c <= by.frozen_soil_c:
        return f"the ground is frozen or near it: the soil was {soil.mean_10cm_c:.1f} °C"
    if soil.temperature_min_c <= by.frozen_air_c:
        return f"the turf is frozen: the air fell to {soil.temperature_min_c:.1f} °C"
    if surplus_mm >= by.waterlogged_mm:
        return f"the {texture} is waterlogged: {surplus_mm:.0f} mm stand in it above what it holds"
    if dry_share >= by.dormant_fraction:
        depth_cm = by.layer_m * 100
        return (
            f"the turf is drought-dormant: {dry_share:.0%} of the water of the top {depth_cm:.0f} cm is gone"
        )
    return ""
