"""Area and dose to packs, water and minutes. Whole packs a lawn: juveniles sit unevenly in a pack.

Figures behind it, all data of the business (`DoseRules`): one pack of 50 million juveniles treats 100 m2
at the regular dose of 0.5 million a m2 (trade leaflet; insectconsultancy.nl), twice that in spring.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from models.facts.rules import DoseRules
from models.units import litres_for

NOISE_PACKS = 1e-6  # sums of areas such as 33.3 + 66.7 must not cost a pack


@dataclass(frozen=True, slots=True)
class Dose:
    """What one treatment of one lawn takes. `juveniles_per_m2` is what whole packs really reach."""

    packs: int
    juveniles_per_m2: float
    carry_litres: float
    dispensing_minutes: float
    wash_in_mm: float
    wash_in_litres: float


def packs_for(area_m2: float, dose_factor: float, pack_m2: float) -> int:
    """Whole packs that give `area_m2` at least `dose_factor` times the regular dose.

    `pack_m2` is what one pack treats at the regular dose. ValueError where one of them is not above 0.
    """
    if not (area_m2 > 0 and dose_factor > 0 and pack_m2 > 0):
        raise ValueError(
            f"area {area_m2} m2, dose factor {dose_factor}, pack of {pack_m2} m2: each must be above 0"
        )
    return max(1, math.ceil(area_m2 * dose_factor / pack_m2 - NOISE_PACKS))


def treatment_minutes(packs: int, rules: DoseRules) -> int:
    """Whole minutes on site for a treatment with `packs` packs, set-out and mixing included."""
    return math.ceil(rules.fixed_minutes + packs * rules.dispensing_minutes_per_pack)


def dose(area_m2: float, dose_factor: float, rules: DoseRules) -> Dose:
    """All that a treatment of `area_m2` at `dose_factor` times the regular dose takes."""
    packs = packs_for(area_m2, dose_factor, rules.pack_m2)
    return Dose(
        packs=packs,
        juveniles_per_m2=packs * rules.pack_m2 * rules.juveniles_per_m2 / area_m2,
        carry_litres=packs * rules.carry_litres_per_pack,
        dispensing_minutes=packs * rules.dispensing_minutes_per_pack,
        wash_in_mm=rules.wash_in_mm,
        wash_in_litres=litres_for(rules.wash_in_mm, area_m2),
    )
