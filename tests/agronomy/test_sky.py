"""Radiation outside the atmosphere against FAO-56 and pyet, and the share of it that comes through."""

from __future__ import annotations

from datetime import date

import numpy as np
import pandas as pd
import pyet
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from models.agronomy.sky import extraterrestrial_radiation_mj_m2, measured_share, share_of_sun, sky_at
from models.agronomy.soil_laws import FITTED


@pytest.mark.parametrize(
    ("latitude", "day", "expected"),
    [
        # FAO-56 (Allen et al. 1998), example 8: 20 degrees south, 3 September, 32.2 MJ/m² a day.
        (-20.0, date(2015, 9, 3), 32.2),
        # FAO-56, example 18: Uccle, 50 degrees 48' north, 6 July (J 187), 41.09.
        (50.80, date(2015, 7, 6), 41.09),
        # FAO-56, example 20: Lyon, 45 degrees 43' north, July (J 196), 40.55 (from memory).
        (45 + 43 / 60, date(2015, 7, 15), 40.55),
    ],
)
def test_radiation_of_the_fao_56_examples(latitude: float, day: date, expected: float) -> None:
    radiation = extraterrestrial_radiation_mj_m2(latitude, day.timetuple().tm_yday)
    assert radiation == pytest.approx(expected, abs=0.05)


@given(latitude=st.floats(-65, 65))
@settings(max_examples=25, deadline=None)
def test_radiation_agrees_with_pyet_all_year(latitude: float) -> None:
    index = pd.date_range("2015-01-01", "2015-12-31")
    theirs = pyet.meteo_utils.extraterrestrial_r(index, np.radians(latitude))
    ours = [extraterrestrial_radiation_mj_m2(latitude, day) for day in range(1, 366)]
    # pyet multiplies by the same FAO-56 constants; the tolerance is that of the rounded ones.
    np.testing.assert_allclose(ours, np.asarray(theirs, dtype=float).ravel(), atol=0.02)


@pytest.mark.parametrize(("day_of_year", "expected"), [(172, 45.0), (355, 0.0)])
def test_radiation_beyond_the_polar_circle(day_of_year: int, expected: float) -> None:
    # FAO-56, annex 2, table 2.6 ends at 70 degrees; midsummer at the pole is near 45 MJ (from memory).
    assert extraterrestrial_radiation_mj_m2(89.0, day_of_year) == pytest.approx(expected, abs=1.0)


def test_day_length_of_the_fao_56_example() -> None:
    # FAO-56, example 9: 20 degrees south, 3 September, 11.7 h.
    assert sky_at(-20.0, 246).day_length_h == pytest.approx(11.7, abs=0.05)


@given(clear=st.floats(0, 4), rain_mm=st.floats(0, 300))
def test_some_sun_always_comes_through_and_never_all(clear: float, rain_mm: float) -> None:
    (share,) = share_of_sun(FITTED.clearness, np.array([clear]), np.array([rain_mm]))
    assert 0.05 <= share <= 0.8


def test_clear_days_are_brighter_and_wet_ones_darker() -> None:
    clear, rain_mm = np.array([0.5, 1.0, 1.5, 1.0]), np.array([0.0, 0.0, 0.0, 10.0])
    dull, fair, bright, wet = share_of_sun(FITTED.clearness, clear, rain_mm)
    assert dull < fair < bright
    assert wet < fair


def test_angstrom_values_are_near_those_of_fao_56() -> None:
    # FAO-56, equation 35: where none are fitted, 0.25 and 0.50 are recommended.
    assert FITTED.clearness.angstrom_base == pytest.approx(0.25, abs=0.05)
    assert FITTED.clearness.angstrom_sun == pytest.approx(0.50, abs=0.08)


def test_measured_radiation_counts_before_sun_hours_and_these_before_the_range() -> None:
    told, outer, length_h = np.full(4, 0.3), np.full(4, 20.0), np.full(4, 10.0)
    sun_h, radiation = np.array([np.nan, 5.0, 5.0, np.nan]), np.array([np.nan, np.nan, 14.0, 0.0])
    found = measured_share(FITTED.clearness, told, outer, length_h, sun_h, radiation)
    by_hours = FITTED.clearness.angstrom_base + FITTED.clearness.angstrom_sun / 2
    np.testing.assert_allclose(found, [0.3, by_hours, 0.7, 0.3])
