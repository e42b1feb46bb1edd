"""On which days estimate and measurement agree about the window."""

from __future__ import annotations

from datetime import date, timedelta

from hypothesis import given
from hypothesis import strategies as st

from models.agronomy.window_days import (
    AUTUMN_CALENDAR,
    SPRING_CALENDAR,
    WindowDays,
    calendar_days,
    together,
    window_days,
)


def warm_from(opens: date) -> dict[date, float]:
    """0 °C until the day before `opens`, then 10 °C, in 2015."""
    days = [date(2015, 1, 1) + timedelta(n) for n in range(365)]
    return {day: 10.0 if day >= opens else 0.0 for day in days}


def test_the_calendars_have_their_days() -> None:
    # Common practice: 15 April to 15 May, 1 September to 31 October.
    assert len(calendar_days([2015, 2016], SPRING_CALENDAR)) == 62
    assert len(calendar_days([2015], AUTUMN_CALENDAR)) == 61


def test_a_day_is_judged_by_the_seven_whole_days_before_it() -> None:
    # Warm from 20 April by measurement: the 27th has seven warm days behind it. The estimate is a week late.
    calendar = calendar_days([2015], SPRING_CALENDAR)
    found = window_days(warm_from(date(2015, 4, 27)), warm_from(date(2015, 4, 20)), calendar)
    assert found == WindowDays(right_open=12, right_shut=12, wrong_open=0, wrong_shut=7, unjudged=0)
    assert found.share(found.wrong_shut) == 7 / 31
    early = window_days(warm_from(date(2015, 4, 20)), warm_from(date(2015, 4, 27)), calendar)
    assert early == WindowDays(right_open=12, right_shut=12, wrong_open=7, wrong_shut=0, unjudged=0)


def test_a_missing_day_leaves_seven_unjudged() -> None:
    means = warm_from(date(2015, 4, 20))
    measured = {day: mean_c for day, mean_c in means.items() if day != date(2015, 5, 1)}
    found = window_days(means, measured, calendar_days([2015], SPRING_CALENDAR))
    assert (found.unjudged, found.days) == (7, 24)


def test_nothing_judged_has_no_share() -> None:
    assert window_days({}, {}, calendar_days([2015], SPRING_CALENDAR)) == WindowDays(unjudged=31)
    assert WindowDays(unjudged=31).share(0) is None


@given(st.integers(0, 364), st.integers(0, 364))
def test_each_day_is_counted_once_and_swapping_swaps_the_wrong(one: int, other: int) -> None:
    a, b = (warm_from(date(2015, 1, 1) + timedelta(at)) for at in (one, other))
    calendar = calendar_days([2015], AUTUMN_CALENDAR)
    found, swapped = window_days(a, b, calendar), window_days(b, a, calendar)
    assert found.days + found.unjudged == len(calendar)
    assert (found.wrong_open, found.wrong_shut) == (swapped.wrong_shut, swapped.wrong_open)


def test_together_adds_up() -> None:
    assert together([WindowDays(1, 2, 3, 4, 5), WindowDays(10, 20, 30, 40, 50)]) == WindowDays(
        11, 22, 33, 44, 55
    )
