"""Courses of past years begun from today's soil, and the ground of many years at once."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from math import exp

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from models.facts.place import Texture
from models.facts.rules import BusinessRules
from models.facts.season import Span
from models.facts.weather import SoilDay
from scheduler.windows.ground import grounds
from scheduler.windows.traces import align, kept, traces, trailing_means_c, unfit_ground
from tests.windows.soil import DAY, a_soil_day, between, seattle_soil, steady_soil

RULES = BusinessRules()
FIRST = date(2027, 4, 15)
TEXTURES = list(Texture)


def test_a_difference_of_today_fades_as_fitted() -> None:
    past = tuple(
        soil
        for year in (2025, 2026)
        for soil in steady_soil(date(year, 3, 1), date(year, 5, 1), 8.0 + year - 2025)
    )
    aligned = align(past, [date(2025, 4, 15), date(2026, 4, 15)], 30, 10)
    now = align(steady_soil(date(2027, 3, 1), date(2027, 4, 9), 11.0), [FIRST], 30, 10)
    found = traces(aligned, now, -10)
    # Known to 9 April, offset -6: 3 and 2 °C warmer than the two years, which are 8 and 9 °C throughout.
    assert (found.known_to, found.anomaly_c) == (-6, pytest.approx(2.5))
    ahead = [0.44 * exp(-h / 35) + 0.56 * exp(-h / 2.8) for h in range(1, 16)]
    expected = [[11.0] * 5 + [8 + 3 * part for part in ahead], [11.0] * 5 + [9 + 2 * part for part in ahead]]
    np.testing.assert_allclose(found.days.soil_c, expected, rtol=1e-12)


def test_what_is_kept_of_a_week_is_what_the_records_showed() -> None:
    # Regression of the day's anomaly on the mean of the seven before, seven Irish stations 2006 to 2025
    # (records by Met Éireann): 0.79, 0.60, 0.41, 0.29, 0.20 and 0.10 after 1, 3, 7, 14, 28 and 45 days.
    shown = {1: 0.79, 3: 0.60, 7: 0.41, 14: 0.29, 28: 0.20, 45: 0.10}
    assert {lead: float(kept(lead)) for lead in shown} == pytest.approx(shown, abs=0.04)


def test_without_a_whole_known_week_the_past_years_stand_as_they_are() -> None:
    past = steady_soil(date(2026, 3, 1), date(2026, 5, 1), 8.0)
    six_days = steady_soil(date(2027, 4, 4), date(2027, 4, 9), 11.0)
    found = traces(align(past, [date(2026, 4, 15)], 30, 10), align(six_days, [FIRST], 30, 10), 0)
    assert (found.known_to, found.anomaly_c) == (None, None)
    assert found.days.soil_c.tolist() == [[8.0] * 10]


def test_trailing_means_end_with_their_day() -> None:
    means = trailing_means_c(np.array([[1.0, 2.0, 3.0, 4.0, 8.0]]), 3)
    np.testing.assert_allclose(means, [[np.nan, np.nan, 2.0, 3.0, 5.0]])


WEATHER = st.builds(
    lambda mean_c, rain_mm, et_mm, night_c: {
        "mean_10cm_c": mean_c,
        "rain_mm": rain_mm,
        "reference_et_mm": et_mm,
        "temperature_min_c": night_c,
    },
    st.floats(-2.0, 20.0),
    st.floats(0.0, 60.0) | st.just(0.0),
    st.floats(0.0, 8.0),
    st.floats(-6.0, 15.0),
)


def assert_as_one_at_a_time(soil: tuple[SoilDay, ...]) -> None:
    span = Span(soil[0].day, soil[-1].day)
    together = unfit_ground(align(soil, [span.first], 0, len(soil)), TEXTURES, RULES)
    for texture, unfit in zip(TEXTURES, together, strict=True):
        one_at_a_time = grounds(soil, texture, RULES, span)
        assert unfit[0].tolist() == [bool(one_at_a_time[day].unfit) for day in span.days()]


@given(st.lists(WEATHER, min_size=1, max_size=80))
def test_the_ground_of_many_is_the_ground_of_each(weather: list[dict[str, float]]) -> None:
    soil = tuple(replace(a_soil_day(FIRST + n * DAY), **day) for n, day in enumerate(weather))  # type: ignore[arg-type]
    assert_as_one_at_a_time(soil)


@pytest.mark.parametrize("year", [2012, 2013, 2014, 2015])
def test_the_ground_of_seattle_is_the_same_both_ways(year: int) -> None:
    assert_as_one_at_a_time(between(seattle_soil(), date(year, 1, 1), date(year, 12, 31)))
