"""Daily equations: published steps, worked examples, and laws."""

from __future__ import annotations

from dataclasses import replace
from math import exp, log

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from models.agronomy.reference import katterer_andren_2009 as katterer_andren
from models.agronomy.reference import parton_1984, swat
from tests.agronomy.station import made_weather

TEMPERATURES = st.floats(-20, 40)


def test_katterer_andren_warm_step() -> None:
    # R package reclim, worked by hand: air 12, soil 8, a layer of 100 mm (its middle 5 cm down), index 1.
    at_surface_c = katterer_andren.surface_c(12.0, 1.0)
    assert at_surface_c == pytest.approx(12.84654, abs=5e-6)
    assert katterer_andren.soil_step_c(8.0, at_surface_c, 5.0, 1.0) == pytest.approx(8.91957, abs=5e-6)


def test_katterer_andren_frost_step() -> None:
    # The same package and layer: air -5, soil 2.
    at_surface_c = katterer_andren.surface_c(-5.0, 1.0)
    assert katterer_andren.soil_step_c(2.0, at_surface_c, 5.0, 1.0) == pytest.approx(1.43079, abs=5e-6)


@settings(deadline=None, max_examples=20)
@given(st.floats(0, 25))
def test_steady_air_ends_as_the_surface(air_c: float) -> None:
    found = katterer_andren.katterer_andren_c(made_weather([(air_c - 2, air_c + 2)] * 200))
    assert found[-1] == pytest.approx(katterer_andren.surface_c(air_c, 0.0), abs=1e-6)


def test_swat_damping_depth() -> None:
    # SWAT documentation 2009, equations 1:1.3.6 to 1:1.3.8, worked apart: density 1.3, 100 mm in 1000 mm.
    assert swat.greatest_damping_depth_mm(1.3) == pytest.approx(2852.17, abs=0.005)
    assert swat.damping_depth_mm(1.3, 100, 1000) == pytest.approx(2544.7, abs=0.05)


def test_swat_step() -> None:
    # The same, at 100 mm: yesterday 8, surface 12, year 9.6.
    weight = swat.depth_weight(100 / swat.damping_depth_mm(1.3, 100, 1000))
    assert weight == pytest.approx(0.09212, abs=5e-6)
    assert swat.soil_step_c(8.0, 12.0, 9.6, weight) == pytest.approx(8.7558, abs=5e-5)


def test_swat_bare_surface() -> None:
    # The same, equations 1:1.3.9 and 1:1.3.10: 15 MJ/m² on an albedo of 0.23, 5 to 15 °C.
    weather = replace(made_weather([(5.0, 15.0)]), radiation_mj_m2=np.array([15.0]))
    assert swat.bare_surface_c(weather, 0.23) == pytest.approx([9.3875])


def test_the_step_of_a_public_model_exchange() -> None:
    # Agricultural Model Exchange Initiative, SoilTemperatureModels, STMPsimCalculator, testset1: bottoms of
    # layers 0.1, 0.5, 1.5 m and more down to 6 m, first day 15, year 9, surface 6. That code doubles where
    # SWAT squares in the damping depth, so the depth is worked out here; weight and step are ours. It writes
    # exp(6.53) where SWAT rounds to 686: agreement is to five digits.
    greatest_m = swat.greatest_damping_depth_mm(1.4) / 1000
    wetness = 0.001 * 0.3 / ((0.356 - 0.144 * 1.4) * 1.5)
    damping_m = greatest_m * exp(log(0.5 / greatest_m) * (1 - wetness) / (1 + wetness) * 2)
    bottoms = [0.1, 0.5, 1.5, 2.0, 3.0, 4.0, 5.0, 6.0]
    middles = [(above + below) / 2 for above, below in zip([0.0, *bottoms], bottoms, strict=False)]
    begun = [(15 * (6 - bottom) + 9 * bottom) / 6 for bottom in bottoms]
    found = [
        swat.soil_step_c(before_c, 6.0, 9.0, swat.depth_weight(middle / damping_m))
        for before_c, middle in zip(begun, middles, strict=True)
    ]
    published = [13.62436, 13.39997, 12.6, 12.2, 11.4, 10.6, 9.8, 9.0]
    assert found == pytest.approx(published, abs=2e-5)


@given(TEMPERATURES, TEMPERATURES, TEMPERATURES, st.floats(0, 5))
def test_a_step_stays_between_what_it_comes_from(
    before_c: float, surface_c: float, annual_c: float, depth: float
) -> None:
    after_c = swat.soil_step_c(before_c, surface_c, annual_c, swat.depth_weight(depth))
    reached = (before_c, surface_c, annual_c)
    assert min(reached) - 1e-9 <= after_c <= max(reached) + 1e-9


@given(TEMPERATURES)
def test_a_steady_surface_is_a_steady_soil(surface_c: float) -> None:
    steady = np.full(50, surface_c)
    assert swat.below_c(steady, steady) == pytest.approx(steady)


def test_parton_surface_by_hand() -> None:
    # Parton 1984 as coded in public model collections, worked by hand: 5 to 15 °C, 15 MJ/m², 100 g/m²:
    # minimum 5 + 0.6 - 1.82; maximum 15 + (24.07 (1 - exp(-0.57)) + 5.25) (exp(-0.48) - 0.13).
    least_c, most_c = parton_1984.surface_extremes_c(
        np.array([5.0]), np.array([15.0]), np.array([15.0]), 100.0
    )
    assert least_c == pytest.approx([3.78])
    assert most_c == pytest.approx([22.6777], abs=5e-5)


@given(st.floats(0, 300), st.floats(1, 200))
def test_more_plants_narrow_the_day_at_the_surface(biomass: float, more: float) -> None:
    ends = [np.array([value]) for value in (5.0, 15.0, 15.0)]
    thin, thick = (parton_1984.surface_extremes_c(*ends, mass) for mass in (biomass, biomass + more))
    assert thick[1] - thick[0] < thin[1] - thin[0]
