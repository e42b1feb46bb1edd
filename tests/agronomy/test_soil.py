"""The soil estimate: its laws as properties, what widens it, and Seattle."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from datetime import date, timedelta
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from models.agronomy.soil import SiteDays, advance, advance_sites
from models.agronomy.soil_state import SoilState
from models.facts.weather import Provenance, UsedWeatherDay
from tests.agronomy.seattle import LATITUDE_DEGREES, seattle_days

FIRST = date(2012, 1, 1)


def a_day(
    offset: int, least_c: float = 5.0, most_c: float = 12.0, rain_mm: float = 1.0, **more: object
) -> UsedWeatherDay:
    day = UsedWeatherDay(FIRST + timedelta(offset), least_c, most_c, rain_mm, Provenance.MEASURED, revision=1)
    return replace(day, **more)  # type: ignore[arg-type]


@st.composite
def weather(draw: st.DrawFn) -> list[UsedWeatherDay]:
    """Up to twelve days of any weather, some of it filled or not measured."""
    days = []
    for offset in range(draw(st.integers(1, 12))):
        least_c = draw(st.floats(-30, 30))
        days.append(
            a_day(
                offset,
                least_c,
                least_c + draw(st.floats(0, 25)),
                draw(st.floats(0, 100)),
                gap_days=draw(st.sampled_from([0, 0, 2, 9])),
                provenance=draw(st.sampled_from(list(Provenance))),
                wind_m_s=draw(st.none() | st.floats(0, 30)),
                sun_h=draw(st.none() | st.floats(0, 12)),
            )
        )
    return days


@given(days=weather(), cut=st.integers(0, 12))
@settings(max_examples=25, deadline=None)
def test_day_by_day_is_bit_for_bit_the_same_as_at_once(days: list[UsedWeatherDay], cut: int) -> None:
    at_once, last = advance(None, days, 53.4)
    state, singly = None, []
    for day in days:
        estimates, state = advance(state, [day], 53.4)
        singly.extend(estimates)
        state = SoilState.from_json(json.loads(json.dumps(state.to_json())))
    assert (tuple(singly), state) == (at_once, last)
    if 0 < cut < len(days):
        head, middle = advance(None, days[:cut], 53.4)
        tail, end = advance(middle, days[cut:], 53.4)
        assert (head + tail, end) == (at_once, last)


@given(days=weather(), later=st.floats(-20, 30))
def test_later_weather_does_not_change_earlier_estimates(days: list[UsedWeatherDay], later: float) -> None:
    more = [*days, a_day(len(days), later, later + 5)]
    assert advance(None, more, 53.4)[0][:-1] == advance(None, days, 53.4)[0]


@given(days=weather())
@settings(max_examples=25, deadline=None)
def test_estimates_are_finite_and_have_a_spread(days: list[UsedWeatherDay]) -> None:
    for estimate in advance(None, days, 53.4)[0]:
        assert math.isfinite(estimate.mean_10cm_c)
        assert math.isfinite(estimate.mean_2_to_5cm_c)
        assert estimate.sd_c > 0.3


@given(days=weather(), latitudes=st.lists(st.floats(-60, 60), min_size=1, max_size=9))
@settings(max_examples=25, deadline=None)
def test_a_site_does_not_depend_on_others_in_the_call(
    days: list[UsedWeatherDay], latitudes: list[float]
) -> None:
    others = [SiteDays(None, tuple(days), latitude) for latitude in latitudes]
    longer = SiteDays(None, (*days, a_day(len(days))), 53.4)
    found = advance_sites([*others, SiteDays(None, tuple(days), 53.4), longer])[len(others)]
    estimates, state = advance(None, days, 53.4)
    assert (found.estimates, found.last) == (estimates, state)


def test_the_states_of_days_asked_for_are_kept() -> None:
    days = tuple(a_day(offset) for offset in range(9))
    kept = frozenset([days[3].day, days[6].day])
    (found,) = advance_sites([SiteDays(None, days, 53.4, kept)])
    assert found.states == {days[n].day: advance(None, days[: n + 1], 53.4)[1] for n in (3, 6, 8)}


def test_wind_is_used_once_it_is_known_for_a_month_and_else_all_is_as_without() -> None:
    calm = [a_day(offset) for offset in range(45)]
    windy = [replace(day, wind_m_s=11.0, sun_h=3.0) for day in calm]
    without, _ = advance(None, calm, 53.4)
    with_wind, _ = advance(None, windy, 53.4)
    sunny, _ = advance(None, [replace(day, sun_h=3.0) for day in calm], 53.4)
    assert with_wind[:29] == without[:29]
    assert with_wind[29:] != without[29:]
    assert sunny == without


def test_a_day_without_wind_counts_as_the_mean_one_and_one_without_sun_as_its_range_tells() -> None:
    windy = [a_day(offset, wind_m_s=5.0) for offset in range(60)]
    gone = [replace(day, wind_m_s=None) if offset == 50 else day for offset, day in enumerate(windy)]
    assert [one.mean_10cm_c for one in advance(None, gone, 53.4)[0]] == pytest.approx(
        [one.mean_10cm_c for one in advance(None, windy, 53.4)[0]], abs=1e-9
    )


@given(least_c=st.floats(-5, 20), range_c=st.floats(2, 12), rain_mm=st.floats(0, 10))
@settings(max_examples=3, deadline=None)
def test_steady_weather_gives_steady_soil(least_c: float, range_c: float, rain_mm: float) -> None:
    days = [a_day(offset, least_c, least_c + range_c, rain_mm) for offset in range(4 * 365)]
    means = [estimate.mean_10cm_c for estimate in advance(None, days, 53.4)[0]]
    # Only the sun moves: from day to day hardly, and from year to year back to the same.
    assert max(abs(after - before) for before, after in pairwise(means[60:])) < 0.15
    assert means[-1] == pytest.approx(means[-1 - 365], abs=0.15)


@given(warmer_c=st.floats(0.5, 8))
@settings(max_examples=5, deadline=None)
def test_warmer_air_gives_warmer_soil(warmer_c: float) -> None:
    plain = SiteDays(None, tuple(a_day(offset) for offset in range(60)), 53.4)
    warm = replace(plain, days=tuple(a_day(offset, 5 + warmer_c, 12 + warmer_c) for offset in range(60)))
    cooler, warmer = (found.estimates[-1].mean_10cm_c for found in advance_sites([plain, warm]))
    assert 0.4 * warmer_c < warmer - cooler < 1.2 * warmer_c


@given(days=weather(), latitude=st.floats(-60, 60))
@settings(max_examples=10, deadline=None)
def test_soil_stays_within_the_air_beyond_what_sun_and_correction_add(
    days: list[UsedWeatherDay], latitude: float
) -> None:
    """The sun lifts the surface by at most absorbed · sun / film, the loss lowers it likewise."""
    hottest = max(day.temperature_max_c for day in days)
    coldest = min(day.temperature_min_c for day in days)
    # 27 °C is the warmest that a column begins with; 2 °C the most that the correction adds.
    for one in advance(None, days, latitude)[0]:
        assert min(coldest, 0.0) - 25 < one.mean_10cm_c < max(hottest, 27.0) + 25


def sd_after(last: UsedWeatherDay, days_before: int = 400) -> float:
    days = [
        *(a_day(offset) for offset in range(days_before)),
        replace(last, day=FIRST + timedelta(days_before)),
    ]
    return advance(None, days, 53.4)[0][-1].sd_c


def test_what_is_less_known_is_wider() -> None:
    known = sd_after(a_day(0))
    no_rain = sd_after(a_day(0, filled=("rain_mm",)))
    short = sd_after(a_day(0, gap_days=3, filled=("temperature_min_c", "temperature_max_c", "rain_mm")))
    long = sd_after(a_day(0, gap_days=4, filled=("temperature_min_c", "temperature_max_c", "rain_mm")))
    assert known < no_rain < short < long
    assert known < sd_after(a_day(0, provenance=Provenance.FORECAST))
    assert known < sd_after(a_day(0, provenance=Provenance.MODELLED))
    a_year_on = sd_after(a_day(0), days_before=368)  # in the same season: spring is wider than autumn
    assert a_year_on < sd_after(a_day(0), days_before=3)


def test_a_gap_is_forgotten_by_and_by() -> None:
    measured = tuple(a_day(offset) for offset in range(440))
    gap = tuple(replace(day, gap_days=9 if offset == 400 else 0) for offset, day in enumerate(measured))
    without, with_gap = advance_sites([SiteDays(None, days, 53.4) for days in (measured, gap)])
    wider = [one.sd_c - other.sd_c for one, other in zip(with_gap.estimates, without.estimates, strict=True)]
    assert wider[399] == 0
    assert wider[400] > wider[401] > wider[405] > wider[439] >= 0
    assert wider[439] < 0.001


def test_days_must_follow_each_other() -> None:
    with pytest.raises(ValueError, match="2012-01-03 follows 2012-01-01"):
        advance(None, [a_day(0), a_day(2)], 53.4)
    _, state = advance(None, [a_day(0)], 53.4)
    with pytest.raises(ValueError, match="2012-01-01 follows 2012-01-01"):
        advance(state, [a_day(0)], 53.4)


def test_no_day_at_all() -> None:
    _, state = advance(None, [a_day(0)], 53.4)
    assert advance(state, [], 53.4) == ((), state)
    with pytest.raises(ValueError, match="nothing to estimate from"):
        advance(None, [], 53.4)


def test_seattle_soil_is_air_damped_late_and_a_little_warmer() -> None:
    """Laws of conduction (Campbell & Norman 1998, chapter 8, from memory): damped and late with depth."""
    days = seattle_days()
    soil = np.array([e.mean_10cm_c for e in advance(None, days, LATITUDE_DEGREES)[0]])[366:]
    air = np.array([(day.temperature_min_c + day.temperature_max_c) / 2 for day in days])[366:]
    assert len(soil) == 3 * 365
    assert -2 < soil.min() < soil.max() < 32
    # Mean soil lies above mean air by no more than a few degrees (soil-records/README.md: 2.5 to 3 in June).
    assert 0 < (soil - air).mean() < 3
    assert np.diff(soil).std() < 0.7 * np.diff(air).std()
    lags = [
        np.corrcoef(np.diff(soil)[5:], np.diff(air)[5 - lag : len(air) - 1 - lag])[0, 1] for lag in (0, 1, 2)
    ]
    assert lags[0] > 0.5
    assert lags[1] > lags[2]
    july, january = (np.array([d.day.month == m for d in days[366:]]) for m in (7, 1))
    assert soil[july].mean() - soil[january].mean() > 12
