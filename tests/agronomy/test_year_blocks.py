"""Intervals by drawing years, and the correction fitted elsewhere: by hand, by brute force, and laws."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from models.agronomy.affine import affine_rmses_c
from models.agronomy.judging import TurningDay
from models.agronomy.year_blocks import (
    YearDraws,
    draw_years,
    rmse_by_year,
    rmse_interval,
    turning_intervals,
)

YEARS = range(2013, 2025)


def a_turn(year: int, error_days: int) -> TurningDay:
    measured = date(year, 4, 10)
    return TurningDay(year, measured + timedelta(error_days), measured)


def test_the_same_seed_draws_the_same_years() -> None:
    first, again = draw_years(YEARS, 50), draw_years(reversed(YEARS), 50)
    assert (first.years, first.times.tolist()) == (again.years, again.times.tolist())
    assert draw_years(YEARS, 50, seed=7).times.tolist() != first.times.tolist()


@given(st.integers(1, 20), st.integers(1, 30))
def test_each_draw_has_as_many_years_as_there_are(years: int, draws: int) -> None:
    times = draw_years(range(2000, 2000 + years), draws).times
    assert times.shape == (draws, years)
    assert times.sum(axis=1).tolist() == [years] * draws


def test_years_are_drawn_as_often_as_one_another() -> None:
    assert draw_years(YEARS, 20_000).times.mean(axis=0) == pytest.approx(np.ones(12), abs=0.03)


def test_one_year_leaves_nothing_to_draw() -> None:
    draws = draw_years([2015])
    errors = {date(2015, 1, 1): 3.0, date(2015, 1, 2): -4.0}
    assert rmse_interval([errors], draws) == pytest.approx((12.5**0.5, 12.5**0.5))
    assert turning_intervals([a_turn(2015, -2), a_turn(2015, 6)], draws) == {
        "mean_abs_days": (4.0, 4.0),
        "median_abs_days": (4.0, 4.0),
        "p90_abs_days": pytest.approx((5.6, 5.6)),
        "bias_days": (2.0, 2.0),
        "within_3_days": (0.5, 0.5),
    }


def test_a_drawn_year_brings_all_its_stations() -> None:
    # Draws by hand: both years once, the first twice, the second twice.
    draws = YearDraws((2015, 2016), np.array([[1, 1], [2, 0], [0, 2]]))
    turns = [a_turn(2015, 1), a_turn(2015, 3), a_turn(2016, 10)]
    # Means of 1 3 10, of 1 3 1 3 and of 10 10, and their 5 % and 95 % quantiles.
    expected = np.quantile([14 / 3, 2.0, 10.0], [0.05, 0.95])
    assert turning_intervals(turns, draws)["mean_abs_days"] == pytest.approx(tuple(expected))


@given(
    st.lists(st.tuples(st.sampled_from([2013, 2014, 2015]), st.integers(-40, 40)), min_size=1, max_size=15)
)
def test_the_turning_days_of_draws_by_brute_force(drawn_from: list[tuple[int, int]]) -> None:
    draws = draw_years([2013, 2014, 2015], 25)
    samples = [
        [error for year, error in drawn_from for _ in range(times[draws.years.index(year)])]
        for times in draws.times.tolist()
    ]
    sizes = [np.abs(sample) for sample in samples if sample]
    found = turning_intervals([a_turn(year, error) for year, error in drawn_from], draws)
    for name, measured in (
        ("median_abs_days", [np.median(size) for size in sizes]),
        ("p90_abs_days", [np.percentile(size, 90) for size in sizes]),
        ("within_3_days", [np.mean(size <= 3) for size in sizes]),
    ):
        assert found[name] == pytest.approx(tuple(np.quantile(measured, [0.05, 0.95])))


def test_the_rmse_of_draws_by_brute_force() -> None:
    generator = np.random.default_rng(5)
    first = date(2013, 1, 1)
    stations = [
        {first + timedelta(int(n)): float(generator.normal()) for n in range(begin, begin + 1500, 7)}
        for begin in (0, 900)
    ]
    draws = draw_years(sorted({day.year for errors in stations for day in errors}), 40)
    means = []
    for times in draws.times.tolist():
        errors = [
            [error for year, n in zip(draws.years, times, strict=True) for error in _of(one, year) * n]
            for one in stations
        ]
        means.append(np.mean([np.sqrt(np.mean(np.square(drawn))) for drawn in errors if drawn]))
    assert rmse_interval(stations, draws) == pytest.approx(tuple(np.quantile(means, [0.05, 0.95])))


def _of(errors: dict[date, float], year: int) -> list[float]:
    return [error for day, error in errors.items() if day.year == year]


def test_nothing_judged_has_no_interval() -> None:
    assert rmse_interval([], draw_years([])) is None
    assert set(turning_intervals([], draw_years([])).values()) == {None}
    assert rmse_interval([{}], draw_years([2015])) is None


def test_rmse_of_each_year_by_hand() -> None:
    one = {date(2015, 1, 1): 3.0, date(2016, 1, 1): 1.0}
    other = {date(2015, 1, 1): -4.0}
    assert rmse_by_year([one, other]) == pytest.approx({2015: 12.5**0.5, 2016: 1.0})


def test_a_mean_and_a_slope_found_elsewhere_mend_a_linear_fault() -> None:
    days = [date(2015, 1, 1) + timedelta(n) for n in range(30)]
    truly = {day: float(n % 11) for n, day in enumerate(days)}
    faulty = {day: (mean_c - 2) / 1.5 for day, mean_c in truly.items()}
    assert affine_rmses_c([(faulty, truly)] * 3) == pytest.approx([0.0] * 3, abs=1e-9)


def test_a_station_is_not_mended_by_its_own_days() -> None:
    days = [date(2015, 1, 1) + timedelta(n) for n in range(30)]
    truly = {day: float(n % 11) for n, day in enumerate(days)}
    warm = {day: mean_c + 2 for day, mean_c in truly.items()}
    # Each is mended by the other's fault: none at the second, 2 °C at the first.
    assert affine_rmses_c([(warm, truly), (truly, truly)]) == pytest.approx([2.0, 2.0])


def test_without_another_station_there_is_no_correction() -> None:
    day = {date(2015, 1, 1): 5.0}
    assert affine_rmses_c([(day, day)]) == [None]
    assert affine_rmses_c([]) == []
