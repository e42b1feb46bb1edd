"""Measures of error: by hand, and the trailing means against pandas."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from models.agronomy.judging import (
    TemperatureErrors,
    TurningDay,
    TurningErrors,
    autumn_has_gap,
    bias,
    judge_autumn,
    judge_spring,
    rmse,
    scored_days,
    soil_closing,
    soil_opening,
    spring_has_gap,
    temperature_errors,
    turning_errors,
    within_80,
)
from tests.agronomy.seattle import seattle_days


def a_spring(
    opens: date, before_c: float = 5.0, after_c: float = 10.0, year: int = 2015
) -> dict[date, float]:
    """Cold until the day before `opens`, then warm, January to June."""
    days = [date(year, 1, 1) + timedelta(n) for n in range(181)]
    return {day: after_c if day >= opens else before_c for day in days}


def test_temperature_errors_by_hand() -> None:
    measured = {date(2015, 1, 1): 5.0, date(2015, 4, 1): 9.0, date(2015, 5, 31): 12.0, date(2015, 9, 1): 15.0}
    estimated = {
        date(2015, 1, 1): 6.0,
        date(2015, 4, 1): 6.0,
        date(2015, 5, 31): 16.0,
        date(2015, 12, 1): 4.0,
    }
    assert temperature_errors(estimated, measured) == TemperatureErrors(
        days=3,
        rmse_c=pytest.approx((26 / 3) ** 0.5),
        bias_c=pytest.approx(2 / 3),
        rmse_spring_c=pytest.approx((25 / 2) ** 0.5),
        rmse_autumn_c=None,
    )


def test_nothing_has_no_error() -> None:
    assert (rmse([]), bias([])) == (None, None)


@given(st.lists(st.floats(-50, 50), min_size=1))
def test_rmse_is_at_least_the_bias(errors: list[float]) -> None:
    root, mean = rmse(errors), bias(errors)
    assert root is not None
    assert mean is not None
    assert root >= abs(mean) - 1e-9


def test_opens_when_the_seven_day_mean_reaches_the_limit() -> None:
    # Exactly 10 °C from 1 April: seven warm days are complete on the 7th.
    assert soil_opening(a_spring(date(2015, 4, 1)), 2015) == date(2015, 4, 7)


def test_one_cold_day_holds_a_mild_week_below_the_limit() -> None:
    means = a_spring(date(2015, 4, 1), before_c=3.0, after_c=11.0)
    # Six days of 11 and one of 3 have the mean 9.86; seven of 11 are over 10.
    assert soil_opening(means, 2015) == date(2015, 4, 7)
    # Six of 12 and one of 3 have 10.71.
    assert soil_opening({**means, **dict.fromkeys(list(means)[90:], 12.0)}, 2015) == date(2015, 4, 6)


def test_does_not_open_before_7_march_nor_after_15_june() -> None:
    assert soil_opening(a_spring(date(2015, 1, 1)), 2015) == date(2015, 3, 7)
    assert soil_opening(a_spring(date(2015, 6, 9)), 2015) == date(2015, 6, 15)
    assert soil_opening(a_spring(date(2015, 6, 10)), 2015) is None


def test_a_missing_day_does_not_open() -> None:
    means = a_spring(date(2015, 4, 1))
    del means[date(2015, 4, 5)]
    assert soil_opening(means, 2015) == date(2015, 4, 12)
    assert spring_has_gap(means, 2015)


def test_gaps_count_only_where_the_search_looks() -> None:
    means = a_spring(date(2015, 4, 1))
    assert not spring_has_gap({day: c for day, c in means.items() if day != date(2015, 2, 28)}, 2015)
    assert spring_has_gap({day: c for day, c in means.items() if day != date(2015, 3, 1)}, 2015)
    assert spring_has_gap({day: c for day, c in means.items() if day != date(2015, 6, 15)}, 2015)
    assert not spring_has_gap({day: c for day, c in means.items() if day != date(2015, 6, 16)}, 2015)


@pytest.mark.parametrize("limit_c", [6.0, 8.0, 10.0, 12.0])
@pytest.mark.parametrize("year", [2012, 2013, 2014, 2015])
def test_opening_of_seattle_air_agrees_with_pandas(year: int, limit_c: float) -> None:
    air = {day.day: (day.temperature_min_c + day.temperature_max_c) / 2 for day in seattle_days()}
    rolling = pd.Series(air.values(), index=pd.DatetimeIndex(air)).rolling(7).mean()
    reached = rolling[f"{year}-03-07" : f"{year}-06-15"]
    assert soil_opening(air, year, limit_c) == reached[reached >= limit_c].index[0].date()


def test_a_late_estimate_is_a_positive_error() -> None:
    spring = judge_spring(a_spring(date(2015, 4, 9)), a_spring(date(2015, 4, 1)), 2015)
    assert spring == TurningDay(2015, date(2015, 4, 15), date(2015, 4, 7))
    assert spring.error_days == 8


def test_turning_errors_by_hand_and_what_is_counted_apart() -> None:
    opened = date(2015, 4, 10)
    springs = [TurningDay(2015, opened + timedelta(late), opened) for late in (-2, 0, 3, 4, 20)]
    apart = [
        TurningDay(2016, None, opened),
        TurningDay(2017, opened, None),
        TurningDay(2018, opened, opened, gap=True),
    ]
    assert turning_errors([*springs, *apart]) == TurningErrors(
        seasons=5,
        mean_abs_days=pytest.approx(29 / 5),
        median_abs_days=3.0,
        # Linear between the fourth and fifth of 0 2 3 4 20: rank 3.6.
        p90_abs_days=pytest.approx(4 + 0.6 * 16),
        bias_days=5.0,
        within_3_days=pytest.approx(3 / 5),
        with_gaps=1,
        without_day=2,
    )


def test_one_spring_is_its_own_summary() -> None:
    opened = date(2015, 4, 10)
    assert turning_errors([TurningDay(2015, opened + timedelta(5), opened)]) == TurningErrors(
        1, 5.0, 5.0, 5.0, 5.0, 0.0, 0, 0
    )


@given(st.lists(st.integers(-60, 60), min_size=1))
def test_percentiles_agree_with_numpy(errors: list[int]) -> None:
    opened = date(2015, 4, 10)
    found = turning_errors(TurningDay(2015, opened + timedelta(error), opened) for error in errors)
    assert found.p90_abs_days == pytest.approx(np.percentile(np.abs(errors), 90))
    assert found.median_abs_days == pytest.approx(np.median(np.abs(errors)))


def test_no_spring_at_all() -> None:
    assert turning_errors([]) == TurningErrors(0, None, None, None, None, None, 0, 0)


def test_scored_are_days_from_2013_and_a_year_into_the_record() -> None:
    measured = {date(2012, 12, 31): 1.0, date(2013, 1, 1): 2.0, date(2015, 9, 1): 3.0, date(2015, 9, 2): 4.0}
    assert scored_days(date(2005, 1, 1), measured) == {
        date(2013, 1, 1): 2.0,
        date(2015, 9, 1): 3.0,
        date(2015, 9, 2): 4.0,
    }
    assert scored_days(date(2014, 9, 2), measured) == {date(2015, 9, 2): 4.0}


def an_autumn(
    closes: date, before_c: float = 15.0, after_c: float = 5.0, year: int = 2015
) -> dict[date, float]:
    """Warm until the day before `closes`, then cold, August to December."""
    days = [date(year, 8, 1) + timedelta(n) for n in range(153)]
    return {day: after_c if day >= closes else before_c for day in days}


def test_closes_when_the_seven_day_mean_falls_below_the_limit() -> None:
    # Of 15 and 5 °C the mean is 10 at 3.5 days of each: the fourth cold day is the first below.
    assert soil_closing(an_autumn(date(2015, 10, 1)), 2015) == date(2015, 10, 4)


def test_a_mean_at_the_limit_is_still_open() -> None:
    assert soil_closing(an_autumn(date(2015, 10, 1), before_c=11.0, after_c=10.0), 2015) is None


def test_does_not_close_before_1_september_nor_after_30_november() -> None:
    assert soil_closing(an_autumn(date(2015, 8, 1)), 2015) == date(2015, 9, 1)
    assert soil_closing(an_autumn(date(2015, 11, 27)), 2015) == date(2015, 11, 30)
    assert soil_closing(an_autumn(date(2015, 11, 28)), 2015) is None


@pytest.mark.parametrize("limit_c", [8.0, 10.0, 12.0])
@pytest.mark.parametrize("year", [2012, 2013, 2014, 2015])
def test_closing_of_seattle_air_agrees_with_pandas(year: int, limit_c: float) -> None:
    air = {day.day: (day.temperature_min_c + day.temperature_max_c) / 2 for day in seattle_days()}
    rolling = pd.Series(air.values(), index=pd.DatetimeIndex(air)).rolling(7).mean()
    reached = rolling[f"{year}-09-01" : f"{year}-11-30"]
    assert soil_closing(air, year, limit_c) == reached[reached < limit_c].index[0].date()


def test_gaps_of_autumn_count_only_where_the_search_looks() -> None:
    means = an_autumn(date(2015, 10, 1))
    assert not autumn_has_gap({day: c for day, c in means.items() if day != date(2015, 8, 25)}, 2015)
    assert autumn_has_gap({day: c for day, c in means.items() if day != date(2015, 8, 26)}, 2015)
    assert autumn_has_gap({day: c for day, c in means.items() if day != date(2015, 11, 30)}, 2015)
    assert not autumn_has_gap({day: c for day, c in means.items() if day != date(2015, 12, 1)}, 2015)


def test_an_early_closing_is_a_negative_error() -> None:
    autumn = judge_autumn(an_autumn(date(2015, 10, 1)), an_autumn(date(2015, 10, 11)), 2015)
    assert autumn == TurningDay(2015, date(2015, 10, 4), date(2015, 10, 14))
    assert autumn.error_days == -10


def test_of_a_normal_error_80_in_100_lie_in_the_band() -> None:
    # Quantiles of the normal distribution: 1.2816 standard deviations hold 80 %.
    drawn = np.random.default_rng(3).normal(0, 2, 20_000)
    days = [date(1960, 1, 1) + timedelta(n) for n in range(len(drawn))]
    measured = dict(zip(days, drawn.tolist(), strict=True))
    within, of = within_80(dict.fromkeys(days, 0.0), dict.fromkeys(days, 2.0), measured)
    assert of == 20_000
    assert within / of == pytest.approx(0.80, abs=0.01)
