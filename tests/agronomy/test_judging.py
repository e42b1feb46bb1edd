"""Measures of error: by hand, and the trailing means against pandas."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from models.agronomy.judging import (
    OpeningErrors,
    Spring,
    TemperatureErrors,
    bias,
    judge_spring,
    opening_errors,
    rmse,
    scored_days,
    soil_opening,
    spring_has_gap,
    temperature_errors,
)
from models.agronomy.reference.air_week import air_week_c
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


def test_air_week_agrees_with_pandas() -> None:
    days = seattle_days()
    air = [(day.temperature_min_c + day.temperature_max_c) / 2 for day in days]
    rolling = pd.Series(air, index=[day.day for day in days]).rolling(7).mean().dropna()
    assert air_week_c(days) == pytest.approx(rolling.to_dict())


def test_a_late_estimate_is_a_positive_error() -> None:
    spring = judge_spring(a_spring(date(2015, 4, 9)), a_spring(date(2015, 4, 1)), 2015)
    assert spring == Spring(2015, date(2015, 4, 15), date(2015, 4, 7))
    assert spring.error_days == 8


def test_opening_errors_by_hand_and_what_is_counted_apart() -> None:
    opened = date(2015, 4, 10)
    springs = [Spring(2015, opened + timedelta(late), opened) for late in (-2, 0, 3, 4, 20)]
    apart = [Spring(2016, None, opened), Spring(2017, opened, None), Spring(2018, opened, opened, gap=True)]
    assert opening_errors([*springs, *apart]) == OpeningErrors(
        seasons=5,
        mean_abs_days=pytest.approx(29 / 5),
        median_abs_days=3.0,
        # Linear between the fourth and fifth of 0 2 3 4 20: rank 3.6.
        p90_abs_days=pytest.approx(4 + 0.6 * 16),
        bias_days=5.0,
        within_3_days=pytest.approx(3 / 5),
        with_gaps=1,
        without_opening=2,
    )


def test_one_spring_is_its_own_summary() -> None:
    opened = date(2015, 4, 10)
    assert opening_errors([Spring(2015, opened + timedelta(5), opened)]) == OpeningErrors(
        1, 5.0, 5.0, 5.0, 5.0, 0.0, 0, 0
    )


@given(st.lists(st.integers(-60, 60), min_size=1))
def test_percentiles_agree_with_numpy(errors: list[int]) -> None:
    opened = date(2015, 4, 10)
    found = opening_errors(Spring(2015, opened + timedelta(error), opened) for error in errors)
    assert found.p90_abs_days == pytest.approx(np.percentile(np.abs(errors), 90))
    assert found.median_abs_days == pytest.approx(np.median(np.abs(errors)))


def test_no_spring_at_all() -> None:
    assert opening_errors([]) == OpeningErrors(0, None, None, None, None, None, 0, 0)


def test_scored_are_days_from_2013_and_a_year_into_the_record() -> None:
    measured = {date(2012, 12, 31): 1.0, date(2013, 1, 1): 2.0, date(2015, 9, 1): 3.0, date(2015, 9, 2): 4.0}
    assert scored_days(date(2005, 1, 1), measured) == {
        date(2013, 1, 1): 2.0,
        date(2015, 9, 1): 3.0,
        date(2015, 9, 2): 4.0,
    }
    assert scored_days(date(2014, 9, 2), measured) == {date(2015, 9, 2): 4.0}
