"""Packs, water and minutes against the trade's figures and the laws of rounding up."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from models.agronomy.dosing import Dose, dose, packs_for, treatment_minutes
from models.facts.rules import DoseRules

areas = st.floats(0.5, 20_000)
factors = st.sampled_from([1.0, 1.5, 2.0])


@pytest.mark.parametrize(
    ("area_m2", "dose_factor", "packs"),
    [
        (150.0, 1.0, 2),  # common practice: 150 m2 takes 2 packs of 100 m2 at the regular dose
        (150.0, 2.0, 3),  # common practice: and 3 at double dose
        (100.0, 1.0, 1),
        (100.0000001, 1.0, 1),  # a tenth of a square millimetre is noise of adding up zones
        (100.01, 1.0, 2),
        (33.3 + 66.7, 2.0, 2),
        (0.5, 1.0, 1),
    ],
)
def test_packs_of_a_lawn(area_m2: float, dose_factor: float, packs: int) -> None:
    assert packs_for(area_m2, dose_factor, 100.0) == packs


@given(areas, factors, st.sampled_from([50.0, 100.0, 500.0]))
def test_never_short_of_the_area_and_never_a_whole_pack_too_many(
    area_m2: float, factor: float, pack_m2: float
) -> None:
    packs = packs_for(area_m2, factor, pack_m2)
    noise_m2 = 1e-6 * pack_m2
    assert packs * pack_m2 >= area_m2 * factor - noise_m2
    assert packs == 1 or (packs - 1) * pack_m2 < area_m2 * factor


@given(st.lists(st.integers(1, 5_000), min_size=1, max_size=6), factors)
def test_the_order_of_zones_never_costs_a_pack(tenths_m2: list[int], factor: float) -> None:
    zones = [tenths / 10 for tenths in tenths_m2]
    there = packs_for(sum(zones), factor, 100.0)
    assert there == packs_for(sum(reversed(zones)), factor, 100.0)


@pytest.mark.parametrize(("area_m2", "factor", "pack_m2"), [(0, 1, 100), (10, 0, 100), (10, 1, -1)])
def test_nonsense_is_refused(area_m2: float, factor: float, pack_m2: float) -> None:
    with pytest.raises(ValueError, match="each must be above 0"):
        packs_for(area_m2, factor, pack_m2)


def test_all_that_a_double_treatment_of_150_m2_takes() -> None:
    # Common practice: 8 minutes and about 100 L a pack; 50 million juveniles a pack.
    # University of Wisconsin: washed in with 6.4 to 12.7 mm; 6 mm on 150 m2 is 900 L.
    assert dose(150.0, 2.0, DoseRules()) == Dose(
        packs=3,
        juveniles_per_m2=1_000_000.0,
        carry_litres=300.0,
        dispensing_minutes=24.0,
        wash_in_mm=6.0,
        wash_in_litres=900.0,
    )


def test_whole_packs_reach_more_than_the_regular_dose() -> None:
    # 100 million juveniles on 150 m2: 0.667 million a m2, above the 0.5 million asked for.
    assert dose(150.0, 1.0, DoseRules()).juveniles_per_m2 == pytest.approx(666_667, abs=1)


def test_minutes_grow_with_packs_and_are_whole() -> None:
    rules = DoseRules(dispensing_minutes_per_pack=7.5, fixed_minutes=20.0)
    assert [treatment_minutes(packs, rules) for packs in (1, 2, 3)] == [28, 35, 43]
