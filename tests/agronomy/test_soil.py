"""The soil estimate: its radiation against FAO-56 and pyet, its laws, and measured soil."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from datetime import date, timedelta
from itertools import pairwise

import numpy as np
import pandas as pd
import pyet
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from models.agronomy.soil import (
    FITTED,
    MEMORIES,
    SoilEstimate,
    SoilState,
    advance,
    extraterrestrial_radiation_mj_m2,
)
from models.agronomy.soil_fit import fit_weights, training_set
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
    """Up to three weeks of any weather, some of it filled or not measured."""
    days = []
    for offset in range(draw(st.integers(1, 21))):
        least_c = draw(st.floats(-30, 30))
        days.append(
            a_day(
                offset,
                least_c,
                least_c + draw(st.floats(0, 25)),
                draw(st.floats(0, 100)),
                gap_days=draw(st.sampled_from([0, 0, 2, 9])),
                provenance=draw(st.sampled_from(list(Provenance))),
            )
        )
    return days


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


@given(days=weather(), cut=st.integers(0, 21))
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
def test_estimates_are_finite_and_never_surer_than_at_an_unseen_station(days: list[UsedWeatherDay]) -> None:
    for estimate in advance(None, days, 53.4)[0]:
        assert math.isfinite(estimate.mean_10cm_c)
        assert estimate.sd_c >= FITTED.residual_sd_c


@given(least_c=st.floats(-5, 20), range_c=st.floats(2, 12), rain_mm=st.floats(0, 10))
@settings(max_examples=10, deadline=None)
def test_steady_weather_gives_steady_soil(least_c: float, range_c: float, rain_mm: float) -> None:
    days = [a_day(offset, least_c, least_c + range_c, rain_mm) for offset in range(4 * 365)]
    means = [estimate.mean_10cm_c for estimate in advance(None, days, 53.4)[0]]
    # Only the sun moves: from day to day hardly, and from year to year back to the same.
    assert max(abs(after - before) for before, after in pairwise(means[60:])) < 0.15
    assert means[-1] == pytest.approx(means[-1 - 365], abs=0.1)


@given(warmer_c=st.floats(0.5, 10))
def test_warmer_air_gives_warmer_soil(warmer_c: float) -> None:
    plain = [a_day(offset) for offset in range(60)]
    warm = [a_day(offset, 5 + warmer_c, 12 + warmer_c) for offset in range(60)]
    gain_c = advance(None, warm, 53.4)[0][-1].mean_10cm_c - advance(None, plain, 53.4)[0][-1].mean_10cm_c
    assert 0.5 * warmer_c < gain_c < 1.2 * warmer_c


def sd_after(last: UsedWeatherDay, days_before: int = 800) -> float:
    days = [
        *(a_day(offset) for offset in range(days_before)),
        replace(last, day=FIRST + timedelta(days_before)),
    ]
    return advance(None, days, 53.4)[0][-1].sd_c


def test_what_is_less_known_is_wider() -> None:
    known = sd_after(a_day(0))
    no_rain = sd_after(a_day(0, rain_mm=0.0, filled=("rain_mm",)))
    short = sd_after(a_day(0, gap_days=3, filled=("temperature_min_c", "temperature_max_c", "rain_mm")))
    long = sd_after(a_day(0, gap_days=4, filled=("temperature_min_c", "temperature_max_c", "rain_mm")))
    assert known == FITTED.residual_sd_c
    assert known < no_rain <= short < long
    assert known < sd_after(a_day(0, provenance=Provenance.FORECAST))
    assert known < sd_after(a_day(0, provenance=Provenance.MODELLED))
    assert known < sd_after(a_day(0), days_before=300) < sd_after(a_day(0), days_before=3)


def test_a_gap_is_forgotten_by_and_by() -> None:
    days = [a_day(offset, gap_days=9 if offset == 500 else 0) for offset in range(530)]
    sds = [estimate.sd_c for estimate in advance(None, days, 53.4)[0]]
    assert sds[500] > sds[501] > sds[505] > sds[529]
    assert sds[529] == pytest.approx(FITTED.residual_sd_c, abs=0.001)


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


def test_fitting_finds_the_weights_that_made_the_soil() -> None:
    days = seattle_days()
    made = {e.day: e.mean_10cm_c for e in advance(None, days, LATITUDE_DEGREES)[0] if e.day.year >= 2013}
    again = fit_weights([training_set(days, made, LATITUDE_DEGREES, FITTED)], FITTED)
    assert [getattr(again, name) for name in MEMORIES] == pytest.approx(
        [getattr(FITTED, name) for name in MEMORIES], abs=1e-6
    )


def test_fitting_refuses_what_does_not_determine_the_weights() -> None:
    days = seattle_days()
    few = {day.day: 10.0 for day in days[400:404]}
    with pytest.raises(ValueError, match="4 days determine 4 of 9 weights"):
        fit_weights([training_set(days, few, LATITUDE_DEGREES, FITTED)], FITTED)


def test_the_estimate_of_one_day_is_a_whole_value() -> None:
    # Of the first day every memory is the day itself, so the sum can be done by hand.
    day = a_day(0, 4.0, 12.0, 0.0)
    radiation = extraterrestrial_radiation_mj_m2(0.0, 1)
    clearness = math.sqrt(8.0 / (6.5 + 1.5 / 91))
    dried = 1 - 0.0023 * 25.8 * math.sqrt(8.0) * 0.408 * radiation / 15
    sun = clearness * radiation
    values = (8.0, 8.0, clearness * 8.0, 0.0, radiation, sun, sun * dried, radiation * 4.0)
    weights = [getattr(FITTED, name) for name in MEMORIES]
    expected = FITTED.intercept_c + sum(w * v for w, v in zip(weights, values, strict=True))
    (estimate,), _ = advance(None, [day], 0.0)
    sd_c = math.hypot(FITTED.residual_sd_c, FITTED.warm_up_sd_c * (1 - 1 / math.sqrt(365)))
    assert estimate == SoilEstimate(FIRST, pytest.approx(expected), pytest.approx(sd_c))
