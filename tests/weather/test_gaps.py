"""Gaps are closed by rule, marked, and never touch what was recorded."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from models.facts.weather import Provenance, UsedWeatherDay, WeatherDay
from scheduler.weather.gaps import as_known, complete

KNOWN_AT = datetime(2024, 6, 1, tzinfo=UTC)
FIRST = date(2024, 3, 1)

MEASURED, MODELLED = Provenance.MEASURED, Provenance.MODELLED
ALL = ("temperature_min_c", "temperature_max_c", "rain_mm")


def march(day: int) -> date:
    return date(2024, 3, day)


def a_day(day: date, least: float | None, most: float | None, rain: float | None = 0.0) -> WeatherDay:
    return WeatherDay(day, least, most, rain, source="station-file valley")


def used(days: list[WeatherDay], first: date, last: date) -> tuple[UsedWeatherDay, ...]:
    return complete(as_known(days, KNOWN_AT), first, last)


@pytest.mark.parametrize("missing", [1, 2, 3])
def test_a_short_gap_lies_on_the_line_between_its_neighbours(missing: int) -> None:
    after = march(2 + missing)
    days = [a_day(march(1), 0.0, 8.0, 2.0), a_day(after, 4.0, 16.0, 3.0)]
    steps = missing + 1
    assert used(days, march(1), after)[1:-1] == tuple(
        UsedWeatherDay(
            march(1 + n), 4.0 * n / steps, 8.0 + 8.0 * n / steps, 0.0, MODELLED, 0, missing, ALL, n
        )
        for n in range(1, steps)
    )


def test_each_value_is_filled_by_itself() -> None:
    days = [
        a_day(march(1), 2.0, 8.0, 1.5),
        a_day(march(2), None, 9.0, None),
        a_day(march(3), 4.0, None, 0.5),
        a_day(march(4), 4.0, 13.0, None),
    ]
    assert used(days, march(1), march(4)) == (
        UsedWeatherDay(march(1), 2.0, 8.0, 1.5, MEASURED, 1),
        UsedWeatherDay(march(2), 3.0, 9.0, 0.0, MEASURED, 1, 1, ("temperature_min_c", "rain_mm"), 1),
        UsedWeatherDay(march(3), 4.0, 11.0, 0.5, MEASURED, 1, 1, ("temperature_max_c",)),
        UsedWeatherDay(march(4), 4.0, 13.0, 0.0, MEASURED, 1, 0, ("rain_mm",), 1),
    )


def test_a_filled_minimum_never_passes_the_recorded_maximum() -> None:
    days = [a_day(march(1), 10.0, 18.0), a_day(march(2), None, 7.0), a_day(march(3), 12.0, 19.0)]
    assert used(days, march(2), march(2)) == (
        UsedWeatherDay(march(2), 7.0, 7.0, 0.0, MEASURED, 1, 1, ("temperature_min_c",)),
    )


def test_an_open_end_carries_the_last_value_and_grows() -> None:
    days = [a_day(march(1), 1.0, 7.0, 4.0)]
    assert used(days, march(1), march(3)) == (
        UsedWeatherDay(march(1), 1.0, 7.0, 4.0, MEASURED, 1),
        UsedWeatherDay(march(2), 1.0, 7.0, 0.0, MODELLED, 0, 2, ALL, 1),
        UsedWeatherDay(march(3), 1.0, 7.0, 0.0, MODELLED, 0, 2, ALL, 2),
    )


def test_days_before_the_record_take_its_first_value() -> None:
    assert used([a_day(march(3), 1.0, 7.0)], march(2), march(3))[0] == UsedWeatherDay(
        march(2), 1.0, 7.0, 0.0, MODELLED, 0, 1, ALL, 1
    )


def test_a_long_gap_without_earlier_years_is_a_line_and_says_its_length() -> None:
    days = [a_day(march(1), 0.0, 10.0), a_day(march(11), 10.0, 20.0)]
    filled = used(days, march(2), march(10))
    assert [round(one.temperature_min_c, 9) for one in filled] == [1, 2, 3, 4, 5, 6, 7, 8, 9]
    assert {one.gap_days for one in filled} == {9}


def test_a_long_gap_goes_back_to_the_normal_of_earlier_years() -> None:
    """Every earlier year was 5 to 12 °C; the neighbours are 6 degrees warmer. Far inside the gap
    nothing is left of that, and near its edges the share exp(-1/3) and a little from the far edge."""
    normal = [a_day(date(2022, 1, 1) + timedelta(n), 5.0, 12.0) for n in range(730)]
    edges = [a_day(march(1), 11.0, 18.0), a_day(march(31), 11.0, 18.0)]
    filled = used(normal + edges, march(2), march(30))
    assert [one.day for one in filled] == [march(n) for n in range(2, 31)]
    assert filled[14].temperature_min_c == pytest.approx(5.0, abs=0.1)
    assert filled[14].temperature_max_c == pytest.approx(12.0, abs=0.1)
    assert filled[0].temperature_min_c == pytest.approx(5.0 + 6.0 * 0.7165, abs=0.01)  # exp(-1/3)
    assert filled[0].temperature_min_c == pytest.approx(filled[-1].temperature_min_c)
    assert {one.gap_days for one in filled} == {29}


def test_29_february_has_its_normal_too() -> None:
    normal = [a_day(date(2023, 1, 1) + timedelta(n), 5.0, 12.0) for n in range(420)]  # to 24 February
    after = [a_day(march(9), 5.0, 12.0)]
    filled = used(normal + after, date(2024, 2, 29), date(2024, 2, 29))
    assert [(one.temperature_min_c, one.temperature_max_c) for one in filled] == [(5.0, 12.0)]


def test_missing_rain_is_counted_on_from_the_days_before() -> None:
    """It is no gap of temperature, however long it lasts."""
    days = [a_day(march(n), 1.0, 7.0, 4.0 if n == 3 else None) for n in range(1, 6)]
    filled = complete(as_known(days, KNOWN_AT), march(1), march(5), rainless_before=40)
    assert [(one.rain_gap_days, one.gap_days) for one in filled] == [
        (41, 0),
        (42, 0),
        (0, 0),
        (1, 0),
        (2, 0),
    ]


def test_nothing_recorded_gives_nothing() -> None:
    assert used([], march(1), march(3)) == ()
    assert used([a_day(march(1), None, 9.0)], march(1), march(3)) == ()


VALUES = st.none() | st.floats(-30, 10)


@st.composite
def records(draw: st.DrawFn) -> list[WeatherDay]:
    """Sixty days at most, some absent, some with values missing."""
    rows = draw(st.lists(st.tuples(st.booleans(), VALUES, VALUES, st.none() | st.floats(0, 90)), max_size=60))
    return [
        a_day(FIRST + timedelta(n), least, None if most is None else most + 41, rain)
        for n, (is_there, least, most, rain) in enumerate(rows)
        if is_there
    ]


@given(records(), st.integers(-10, 60), st.integers(0, 40))
def test_every_day_comes_once_and_complete_days_unchanged(
    days: list[WeatherDay], begins: int, length: int
) -> None:
    first = FIRST + timedelta(begins)
    span = [first + timedelta(n) for n in range(length + 1)]
    made = used(days, span[0], span[-1])
    if not made:
        assert not all(any(getattr(day, name) is not None for day in days) for name in ALL[:2])
        return
    recorded = {day.day: day for day in days}
    assert [one.day for one in made] == span
    for one in made:
        its = recorded.get(one.day)
        missing = tuple(name for name in ALL if its is None or getattr(its, name) is None)
        assert one.filled == missing
        assert (one.gap_days > 0) == bool(set(missing) - {"rain_mm"})
        assert (one.rain_gap_days > 0) == ("rain_mm" in missing)
        assert one.temperature_min_c <= one.temperature_max_c
        assert all(getattr(one, name) == getattr(its, name) for name in ALL if name not in missing)


@given(records(), st.integers(1, 59))
def test_a_closed_gap_is_filled_the_same_as_the_record_grows(days: list[WeatherDay], cut: int) -> None:
    earlier = days[:cut]
    if not earlier or not earlier[-1].has_temperature or earlier[-1].rain_mm is None:
        return
    span = (earlier[0].day, earlier[-1].day)
    assert used(earlier, *span) == used(days, *span)
