"""Radiation of a day against the worked examples of FAO-56 (Allen et al. 1998)."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest

from models.agronomy.reference.sun import outside_and_daylight, radiation_mj_m2


def test_example_8_and_9_radiation_outside_and_daylight() -> None:
    # FAO-56, examples 8 and 9: 20° south on 3 September, Ra 32.2 MJ/m² a day and 11.7 h.
    outside, daylight_h = outside_and_daylight([date(2015, 9, 3)], -20.0)
    assert outside == pytest.approx([32.2], abs=0.05)
    assert daylight_h == pytest.approx([11.7], abs=0.05)


def test_example_10_from_sunshine_hours() -> None:
    # FAO-56, example 10, from memory: Rio de Janeiro, 22.9° south in May, 7.1 h of sun: 14.5 MJ/m² a day.
    found = radiation_mj_m2([date(2015, 5, 15)], np.array([10.0]), np.array([7.1]), -22.9)
    assert found == pytest.approx([14.5], abs=0.1)


def test_example_15_from_the_temperature_range() -> None:
    # FAO-56, example 15: Lyon, 45.72° north in July, 14.8 to 26.6 °C: 22.3 MJ/m² a day.
    found = radiation_mj_m2([date(2015, 7, 15)], np.array([26.6 - 14.8]), np.array([np.nan]), 45.72)
    assert found == pytest.approx([22.3], abs=0.05)


def test_no_sun_where_it_does_not_rise() -> None:
    found = radiation_mj_m2([date(2015, 12, 21)] * 2, np.array([9.0, 9.0]), np.array([0.0, np.nan]), 75.0)
    assert found.tolist() == [0.0, 0.0]
