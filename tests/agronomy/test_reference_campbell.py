"""The heat column: against the analytic wave, a steady flux, a solver of scipy, tables, and laws."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.linalg import solve_banded

from models.agronomy.reference.campbell_1985 import (
    campbell_c,
    conductance_w_m2_k,
    hourly_air_c,
    sun_heights,
    vapour_g_m3,
)
from models.agronomy.reference.campbell_soil import (
    FORWARD,
    Nodes,
    column,
    conductivity_w_m_k,
    heat_capacity_j_m3_k,
)
from models.agronomy.reference.kusuda_1965 import damping_depth_m
from models.agronomy.reference.station import station_weather
from models.agronomy.reference.sun import outside_and_daylight
from tests.agronomy.station import LATITUDE_DEGREES, made_weather, used_days

CONDUCTIVITY = conductivity_w_m_k(1.4, 0.2, 0.25)
HEAT_CAPACITY = heat_capacity_j_m3_k(1.4, 0.25)


def test_a_moist_loam_lies_between_clay_and_sand() -> None:
    # de Vries 1963, after Moene & van Dam 2014, table 2.2: at 0.2 m3/m3 clay 0.40e-6, sand 0.99e-6 m²/s.
    assert 0.40e-6 < CONDUCTIVITY / HEAT_CAPACITY < 0.99e-6


def test_water_holds_its_known_heat() -> None:
    # 4.18 MJ/(m³ K): handbook value; without soil it is all there is.
    assert heat_capacity_j_m3_k(0.0, 1.0) == pytest.approx(4.18e6)


@given(st.floats(0.0, 0.39), st.floats(0.005, 0.05))
def test_wetter_soil_conducts_better(water: float, more: float) -> None:
    assert conductivity_w_m_k(1.4, 0.2, water + more) > conductivity_w_m_k(1.4, 0.2, water)


def test_a_daily_wave_is_damped_and_delayed_as_the_heat_equation_says() -> None:
    # T(z, t) = exp(-z/d) sin(wt - z/d) (Hillel 1982); air of endless conductance is the surface.
    soil = column(CONDUCTIVITY, HEAT_CAPACITY, 360.0)
    nodes, steps = np.zeros(len(soil.depths_m)), 240
    seen = []
    for step in range(20 * steps):
        wave = [np.sin(2 * np.pi * at / steps) for at in (step + 1, step)]
        nodes = soil.step(nodes, wave[0], wave[1], 1e6, 0.0)
        seen.append(nodes)
    depth_m = damping_depth_m(CONDUCTIVITY / HEAT_CAPACITY, 86_400.0)
    angle = 2 * np.pi * np.arange(1, steps + 1) / steps
    for node in range(6):  # to 10 cm, about one damping depth
        lag = soil.depths_m[node] / depth_m
        expected = np.exp(-lag) * np.sin(angle - lag)
        assert np.array(seen[-steps:])[:, node] == pytest.approx(expected, abs=0.03)


def test_a_steady_flux_ends_in_balance() -> None:
    # h (Ta - Ts) + q = k (Ts - Tb) / L, by hand for the surface of a slab.
    soil = column(CONDUCTIVITY, HEAT_CAPACITY, 30 * 86_400.0)
    nodes = np.full(len(soil.depths_m), 8.0)
    for _ in range(400):
        nodes = soil.step(nodes, 12.0, 12.0, 20.0, 50.0)
    leak = CONDUCTIVITY / soil.depths_m[-1]
    surface_c = (20 * 12 + 50 + leak * 8) / (20 + leak)
    expected = surface_c + (8 - surface_c) * soil.depths_m / soil.depths_m[-1]
    assert nodes == pytest.approx(expected, abs=1e-6)


@given(
    st.lists(st.floats(-20, 40), min_size=16, max_size=16),
    st.floats(-20, 40),
    st.floats(-20, 40),
    st.floats(1, 100),
    st.floats(-200, 800),
)
def test_a_step_solves_the_whole_system(
    begun: list[float], air_c: float, air_before_c: float, conductance: float, flux: float
) -> None:
    soil, before = column(CONDUCTIVITY, HEAT_CAPACITY, 3600.0), np.array(begun)
    found = soil.step(before, air_c, air_before_c, conductance, flux)
    expected = _solved_by_scipy(soil.depths_m, before, (air_c, air_before_c, conductance, flux))
    assert found == pytest.approx(expected, abs=1e-6)


def _solved_by_scipy(depths: Nodes, before: Nodes, above: tuple[float, float, float, float]) -> Nodes:
    """The weighted step written out node by node and solved as a band."""
    air_c, air_before_c, conductance, flux = above
    widths = np.diff(depths)
    up = np.concatenate([[conductance], CONDUCTIVITY / widths[:-1]])
    down = CONDUCTIVITY / widths
    held = HEAT_CAPACITY * (widths + np.concatenate([[0.0], widths[:-1]])) / 2 / 3600.0
    over = np.concatenate([[air_before_c], before[:-2]])
    known = held * before[:-1] + (1 - FORWARD) * (
        up * (over - before[:-1]) + down * (before[1:] - before[:-1])
    )
    known[0] += FORWARD * conductance * air_c + flux
    known[-1] += FORWARD * down[-1] * before[-1]
    band = np.zeros((3, len(down)))
    band[0, 1:], band[1], band[2, :-1] = -FORWARD * down[:-1], held + FORWARD * (up + down), -FORWARD * up[1:]
    return np.append(solve_banded((1, 1), band, known), before[-1])


@given(st.floats(-10, 30))
def test_steady_air_without_flux_is_steady_soil(air_c: float) -> None:
    soil = column(CONDUCTIVITY, HEAT_CAPACITY, 3600.0)
    nodes = np.full(len(soil.depths_m), air_c)
    assert soil.step(nodes, air_c, air_c, 20.0, 0.0) == pytest.approx(nodes)


def test_air_reaches_its_extremes_at_2_and_at_14() -> None:
    air_c = hourly_air_c(np.array([6.0, 6.0]), np.array([18.0, 18.0]))
    assert (air_c[1, 1], air_c[1, 13]) == pytest.approx((6.0, 18.0))
    assert (air_c.argmin(axis=1)[1], air_c.argmax(axis=1)[1]) == (1, 13)


def test_the_air_passes_midnight_without_a_jump() -> None:
    air_c = hourly_air_c(np.array([4.0, 6.0, 1.0]), np.array([14.0, 18.0, 7.0])).ravel()
    assert np.abs(np.diff(air_c)).max() < 4.0


def test_sun_heights_give_the_radiation_outside() -> None:
    # FAO-56 equation 21, by pyet; the sun's distance is left out (3.3 %), and FAO-56 simplifies its height.
    days = [date(2015, 1, 15), date(2015, 4, 15), date(2015, 7, 15), date(2015, 10, 15)]
    heights = sun_heights(np.array([day.timetuple().tm_yday for day in days]), 53.0)
    outside, _ = outside_and_daylight(days, 53.0)
    assert 1360 * 3600 * heights.sum(axis=1) / 1e6 == pytest.approx(outside, rel=0.07)


def test_vapour_of_saturated_air() -> None:
    # Handbook values of saturated vapour: 4.85 g/m³ at 0 °C, 17.3 at 20 °C.
    assert vapour_g_m3(np.array([0.0, 20.0])) == pytest.approx([4.85, 17.3], rel=0.01)


@given(st.floats(0.5, 15), st.floats(0.1, 10), st.floats(-10, 30))
def test_wind_and_a_warm_surface_carry_more_heat(wind: float, warmer_c: float, air_c: float) -> None:
    level = conductance_w_m2_k(wind, air_c, air_c)
    assert conductance_w_m2_k(wind + 1, air_c, air_c) > level
    assert conductance_w_m2_k(wind, air_c + warmer_c, air_c) > level
    assert conductance_w_m2_k(wind, air_c - warmer_c, air_c) < level


def test_measured_wind_holds_a_sunny_soil_nearer_the_air() -> None:
    days = used_days([(10.0, 24.0)] * 60, date(2015, 5, 1))
    windy = {day.day: 12.0 for day in days[30:]}
    calm, windy_later = (
        campbell_c(station_weather(days, LATITUDE_DEGREES, wind_m_s=wind)) for wind in (None, windy)
    )
    assert windy_later[:30].tolist() == calm[:30].tolist()
    assert (windy_later[30:] < calm[30:]).all()


def test_measured_sun_takes_the_place_of_the_range() -> None:
    days = used_days([(10.0, 24.0)] * 3, date(2015, 5, 1))
    dull = station_weather(days, LATITUDE_DEGREES, sun_h={days[1].day: 0.0})
    by_range = station_weather(days, LATITUDE_DEGREES)
    outside, _ = outside_and_daylight([days[1].day], LATITUDE_DEGREES)
    assert dull.radiation_mj_m2[[0, 2]].tolist() == by_range.radiation_mj_m2[[0, 2]].tolist()
    # FAO-56, equation 35: a quarter comes through on a day without sun.
    assert dull.radiation_mj_m2[1] == pytest.approx(0.25 * float(outside[0]))


@settings(deadline=None, max_examples=10)
@given(st.floats(0, 15), st.floats(2, 12))
def test_warmer_air_is_warmer_soil(air_c: float, warmer_c: float) -> None:
    cool, warm = (campbell_c(made_weather([(at - 3, at + 3)] * 40)) for at in (air_c, air_c + warmer_c))
    assert (warm > cool).all()
