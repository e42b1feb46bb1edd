"""The water account against FAO-56's worked examples, and the laws that it must keep."""

from __future__ import annotations

from datetime import date, timedelta
from math import radians

import pandas as pd
import pyet
import pytest
from hypothesis import given
from hypothesis import strategies as st

from models.agronomy.moisture import (
    LayerDay,
    account,
    available_water_mm,
    drought_share,
    effective_rain_mm,
    next_deficit_mm,
    next_surplus_mm,
    reference_et_mm,
    turf_et_mm,
)
from models.facts.place import Texture
from models.facts.rules import BusinessRules, WateringRules
from models.facts.weather import Provenance, UsedWeatherDay
from models.store.rules_json import rules_from_json, rules_to_json
from tests.agronomy.seattle import LATITUDE_DEGREES, seattle_days

LYON = 45 + 43 / 60
RULES = WateringRules()
depths_mm = st.floats(0, 200)


def a_day(day: date, least_c: float, most_c: float) -> UsedWeatherDay:
    return UsedWeatherDay(day, least_c, most_c, 0.0, Provenance.MEASURED, revision=1)


def on(day_of_year: int, value: float) -> pd.Series:
    return pd.Series([value], pd.DatetimeIndex([date(2014, 12, 31) + timedelta(days=day_of_year)]))


def test_the_library_gives_fao_56_example_17() -> None:
    # FAO-56 (Allen et al. 1998), example 17: Bangkok, April, 5.72 mm a day (from memory).
    most_c, least_c = on(105, 34.8), on(105, 25.6)
    depth_mm = pyet.pm_fao56(
        (most_c + least_c) / 2,
        on(105, 2.0),
        g=0.14,
        tmax=most_c,
        tmin=least_c,
        elevation=2,
        lat=radians(13 + 44 / 60),
        n=on(105, 8.5),
        ea=on(105, 2.85),
    )
    assert depth_mm.iloc[0] == pytest.approx(5.72, abs=0.005)


def test_the_library_gives_fao_56_example_18() -> None:
    # FAO-56, example 18, page 72: Uccle, 6 July (J 187), 3.88 mm a day.
    most_c, least_c = on(187, 21.5), on(187, 12.3)
    depth_mm = pyet.pm_fao56(
        (most_c + least_c) / 2,
        on(187, 2.078),
        tmax=most_c,
        tmin=least_c,
        rhmax=on(187, 84.0),
        rhmin=on(187, 63.0),
        elevation=100,
        lat=radians(50.80),
        n=on(187, 9.25),
    )
    assert depth_mm.iloc[0] == pytest.approx(3.88, abs=0.005)


def test_hargreaves_is_that_of_pyet_on_every_day_of_four_years() -> None:
    days = seattle_days()
    index = pd.DatetimeIndex([day.day for day in days])
    least_c = pd.Series([day.temperature_min_c for day in days], index)
    most_c = pd.Series([day.temperature_max_c for day in days], index)
    by_pyet = pyet.hargreaves((least_c + most_c) / 2, most_c, least_c, radians(LATITUDE_DEGREES))

    assert reference_et_mm(days, LATITUDE_DEGREES) == pytest.approx(tuple(by_pyet), rel=1e-12)


def test_hargreaves_at_lyon_in_july() -> None:
    # FAO-56, example 20: Lyon, mid-July (J 196), Hargreaves 5.03 mm a day (from memory; 5.0 in pyet's test).
    assert reference_et_mm([a_day(date(2015, 7, 15), 14.8, 26.6)], LYON) == pytest.approx((5.03,), abs=0.005)


def test_a_year_at_once_is_as_each_day_alone() -> None:
    days = seattle_days()[90:100]
    alone = tuple(reference_et_mm([day], LATITUDE_DEGREES)[0] for day in days)
    assert reference_et_mm(days, LATITUDE_DEGREES) == pytest.approx(alone, rel=1e-12)
    assert reference_et_mm([], LATITUDE_DEGREES) == ()


def test_a_swapped_minimum_is_refused() -> None:
    with pytest.raises(ValueError, match=r"2015-07-15: minimum 26.6 °C is above maximum 14.8 °C"):
        reference_et_mm([a_day(date(2015, 7, 15), 26.6, 14.8)], LYON)


def test_water_that_a_layer_holds() -> None:
    # Loam 0.17 m3/m3 over 5 cm is 8.5 mm: the arithmetic of the textbooks' available water.
    assert available_water_mm(Texture.LOAM, 0.05) == pytest.approx(8.5)
    # FAO-56, table 19 (from memory): 0.05 to 0.11 in sand, 0.13 to 0.18 in loam, 0.12 to 0.20 in clay.
    ranges = {Texture.SAND: (50, 110), Texture.LOAM: (130, 180), Texture.CLAY: (120, 200)}
    for texture, (least_mm, most_mm) in ranges.items():
        assert least_mm <= available_water_mm(texture, 1.0) <= most_mm


@pytest.mark.parametrize(("rain_mm", "expected_mm"), [(0.0, 0.0), (1.9, 0.0), (2.0, 1.6), (10.0, 8.0)])
def test_rain_that_enters_the_soil(rain_mm: float, expected_mm: float) -> None:
    # Engineering choice in FAO's style: less than 2 mm a day is ignored, 0.8 of the rest is effective.
    assert effective_rain_mm(rain_mm, RULES) == pytest.approx(expected_mm)


def test_turf_draws_less_than_the_reference() -> None:
    # Cool-season turf 0.8 to 1.0 of reference: Meyer et al. 1985; FAO-56, table 12.
    assert 0.8 <= turf_et_mm(1.0, RULES) <= 1.0


@pytest.mark.parametrize(
    ("deficit_mm", "expected"),
    # FAO-56, figure 42: no stress up to p of the available water, then a straight line to 0.
    [(0.0, 1.0), (40.0, 1.0), (70.0, 0.5), (100.0, 0.0)],
)
def test_stress_of_a_drying_root_zone(deficit_mm: float, expected: float) -> None:
    assert drought_share(deficit_mm, 100.0, readily_available=0.4) == pytest.approx(expected)


def test_a_layer_day_by_hand() -> None:
    assert account(3.0, 2.5, 0.0, 8.5) == LayerDay(5.5, 0.0, 0.0)
    assert account(3.0, 2.5, 20.0, 8.5) == LayerDay(0.0, 14.5, 0.0)
    assert account(8.0, 2.5, 0.0, 8.5) == LayerDay(8.5, 0.0, 2.0)


@given(
    start=st.floats(0, 1),
    capacity_mm=st.floats(0.1, 100),
    days=st.lists(st.tuples(depths_mm, depths_mm), max_size=40),
)
def test_the_account_stays_in_its_layer_and_loses_no_water(
    start: float, capacity_mm: float, days: list[tuple[float, float]]
) -> None:
    deficit_mm = start * capacity_mm
    for demand_mm, gained_mm in days:
        after = account(deficit_mm, demand_mm, gained_mm, capacity_mm)
        assert 0.0 <= after.deficit_mm <= capacity_mm
        drawn_mm = demand_mm - after.unmet_mm
        kept_mm = gained_mm - after.drained_mm
        assert after.deficit_mm - deficit_mm == pytest.approx(drawn_mm - kept_mm, abs=1e-9)
        assert next_deficit_mm(deficit_mm, demand_mm, gained_mm, capacity_mm) == after.deficit_mm
        deficit_mm = after.deficit_mm


@given(surplus_mm=depths_mm, arriving_mm=depths_mm, drains_mm=depths_mm)
def test_a_surplus_drains_and_never_goes_below_nothing(
    surplus_mm: float, arriving_mm: float, drains_mm: float
) -> None:
    after_mm = next_surplus_mm(surplus_mm, arriving_mm, drains_mm)
    drained_mm = surplus_mm + arriving_mm - after_mm
    assert after_mm >= 0.0
    assert -1e-9 <= drained_mm <= drains_mm + 1e-9
    assert after_mm == 0.0 or drained_mm == pytest.approx(drains_mm, abs=1e-9)


def test_the_rules_of_the_ground_are_kept_with_the_business() -> None:
    assert rules_from_json(rules_to_json(BusinessRules())) == BusinessRules()
