"""The annual wave of the ground: de Vries' damping depths, a public model's test, and laws."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from models.agronomy.reference.kusuda_1965 import (
    DAY_S,
    DIFFUSIVITY_M2_S,
    YEAR_DAYS,
    damping_depth_m,
    ground_wave_c,
    kusuda_c,
)
from tests.agronomy.station import made_weather


# Diffusivities of de Vries 1963, after Moene & van Dam 2014, table 2.2; depths by d = sqrt(2 D / omega)
# (Hillel 1982), worked out apart.
@pytest.mark.parametrize(
    ("diffusivity", "of_day_cm", "of_year_m"),
    [
        (0.19e-6, 7.23, 1.382),  # sand, loose and dry
        (0.99e-6, 16.50, 3.154),  # sand, 0.2 m3/m3 of water
        (0.85e-6, 15.29, 2.922),  # sand, saturated
        (0.10e-6, 5.24, 1.002),  # clay, dry
        (0.40e-6, 10.49, 2.005),  # clay, 0.2 m3/m3
        (0.45e-6, 11.12, 2.126),  # clay, saturated
        (0.16e-6, 6.63, 1.268),  # peat, dry
        (0.12e-6, 5.74, 1.098),  # peat, saturated
    ],
)
def test_damping_depths_of_de_vries(diffusivity: float, of_day_cm: float, of_year_m: float) -> None:
    assert 100 * damping_depth_m(diffusivity, DAY_S) == pytest.approx(of_day_cm, abs=0.006)
    assert damping_depth_m(diffusivity, 365.25 * DAY_S) == pytest.approx(of_year_m, abs=0.0006)


def test_the_ground_of_a_public_building_model() -> None:
    # EnergyPlus, unit test KusudaAchenbachGroundTempModelTest1: conductivity 1.08, density 980, heat 2570;
    # mean 15, amplitude 5, coldest on day 1; its tolerance is 0.01 °C.
    diffusivity = 1.08 / (980 * 2570)

    def ground_c(second: float, depth_m: float) -> float:
        return float(ground_wave_c(second / DAY_S, depth_m, 15.0, 5.0, 1.0, diffusivity))

    assert ground_c(0.0, 0.0) == pytest.approx(10.0, abs=0.01)
    assert ground_c(15_768_000, 0.0) == pytest.approx(20.0, abs=0.01)
    assert ground_c(31_449_600, 0.0) == pytest.approx(10.0, abs=0.01)
    assert ground_c(0.0, 100.0) == pytest.approx(15.0, abs=0.01)


@given(st.floats(0, 3), st.floats(0.1, 3), st.floats(1, 10))
def test_deeper_is_smaller_and_later(depth_m: float, deeper_m: float, amplitude_c: float) -> None:
    days = np.arange(0, 365, 0.5)
    upper, lower = (
        ground_wave_c(days, depth, 10.0, amplitude_c, 0.0) for depth in (depth_m, depth_m + deeper_m)
    )
    assert np.ptp(lower) < np.ptp(upper)
    lag_days = deeper_m / damping_depth_m(DIFFUSIVITY_M2_S, YEAR_DAYS * DAY_S) * YEAR_DAYS / (2 * np.pi)
    assert days[np.argmin(lower)] - days[np.argmin(upper)] == pytest.approx(lag_days, abs=0.51)


def test_a_pure_annual_wave_of_air_is_found() -> None:
    first = date(2013, 1, 1)
    days = [first + timedelta(n) for n in range(1095)]
    angle = [2 * np.pi * (day.timetuple().tm_yday - 20) / 365 for day in days]
    air = [10 - 5 * float(np.cos(at)) for at in angle]
    found = kusuda_c(made_weather([(mean_c - 3, mean_c + 3) for mean_c in air], first))
    assert np.isnan(found[:365]).all()
    expected = ground_wave_c(np.array([day.timetuple().tm_yday for day in days[365:]]), 0.10, 10.0, 5.0, 20.0)
    assert found[365:] == pytest.approx(expected, abs=1e-6)


def test_what_comes_later_changes_nothing_before() -> None:
    year = [(5 + n % 7, 12 + n % 11) for n in range(400)]
    short, long = kusuda_c(made_weather(year)), kusuda_c(made_weather([*year, *[(30.0, 40.0)] * 50]))
    assert long[365:400].tolist() == short[365:].tolist()


@settings(deadline=None, max_examples=20)
@given(st.floats(-10, 25))
def test_steady_air_is_steady_ground(air_c: float) -> None:
    found = kusuda_c(made_weather([(air_c - 2, air_c + 2)] * 400))
    assert found[365:] == pytest.approx(np.full(35, air_c), abs=1e-6)
