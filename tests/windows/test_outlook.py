"""Likely dates from past years and from the soil as it is today, and honesty where little is known."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from models.facts.place import Texture
from models.facts.rules import COMMON_WINDOWS, BusinessRules
from models.facts.season import LikelyDay, Outlook, Season, SeasonName, Span, WindowRule
from models.facts.weather import SoilDay
from scheduler.windows.finder import judge_days
from scheduler.windows.outlook import SiteSeason, is_due, is_news, likely_dates, seasons_aligned
from tests.windows.soil import DAY, seattle_soil, steady_soil

RULES = BusinessRules()
SPRING, AUTUMN = COMMON_WINDOWS
BEFORE = 97


def outlook_in(rule: WindowRule, soil: tuple[SoilDay, ...], year: int, today: date) -> Outlook:
    """Of a loam at one site on the morning of `today`, from the days of `soil` before it."""
    past = seasons_aligned(soil, rule, range(year - 15, year), BEFORE)
    present = seasons_aligned([day for day in soil if day.day < today], rule, [year], BEFORE)
    season = Season(year, rule.season)
    site = SiteSeason("vale", (Texture.LOAM,), past, present)
    (outlook,) = likely_dates([site], rule, season, RULES, today)
    return outlook


def spring_ahead(soil: tuple[SoilDay, ...], year: int) -> Outlook:
    """Ninety days before the calendar opens."""
    return outlook_in(SPRING, soil, year, date(year, 1, 15))


def warm_from(year: int, day: date) -> tuple[SoilDay, ...]:
    """A spring at 6 °C until `day`, at 30 °C after: open from the second day after (2 x 30 + 5 x 6)."""
    cold = steady_soil(date(year, 1, 1), day - DAY, 6.0)
    return (*cold, *steady_soil(day, date(year, 5, 31), 30.0))


def springs(first: int, last: int, mean_c: float) -> tuple[SoilDay, ...]:
    return tuple(
        soil
        for year in range(first, last + 1)
        for soil in steady_soil(date(year, 1, 1), date(year, 5, 31), mean_c)
    )


LATER_AND_LATER = (
    *warm_from(2024, date(2024, 4, 1)),
    *warm_from(2025, date(2025, 4, 20)),
    *warm_from(2026, date(2026, 5, 1)),
)


def test_a_chance_is_the_share_of_past_years_in_which_the_day_was_open() -> None:
    outlook = spring_ahead(LATER_AND_LATER, 2027)
    chances = dict(outlook.chances)
    assert outlook.years == 3
    assert [day for day, _ in outlook.chances] == list(SPRING.calendar(2027).days())
    # 2 x 30 + 5 x 6 = 90, a mean of 12.9 °C; 30 + 6 x 6 = 66, a mean of 9.4 °C.
    assert chances[date(2027, 4, 21)] == pytest.approx(1 / 3)
    assert chances[date(2027, 4, 22)] == pytest.approx(2 / 3)
    assert chances[date(2027, 5, 2)] == pytest.approx(2 / 3)
    assert chances[date(2027, 5, 3)] == 1.0


def test_the_range_of_days_is_that_of_the_past_years() -> None:
    outlook = spring_ahead(LATER_AND_LATER, 2027)
    last = date(2027, 5, 15)
    assert outlook.opening == LikelyDay(date(2027, 4, 15), date(2027, 4, 22), date(2027, 5, 3))
    assert outlook.closing == LikelyDay(last, last, last)
    assert outlook.issued_on == date(2027, 1, 15)
    assert outlook.reason == (
        "likely to open on 22 April (earliest 15 April, latest 3 May), likely to be open last on 15 May; "
        "from 3 past years alone: this season's soil is not known, so no more is known than the climate"
    )


def test_two_years_say_no_more_than_the_calendar() -> None:
    past = (*warm_from(2025, date(2025, 4, 1)), *warm_from(2026, date(2026, 4, 1)))
    outlook = spring_ahead(past, 2027)
    assert {chance for _, chance in outlook.chances} == {0.5}
    assert (outlook.years, outlook.opening, outlook.closing, outlook.reason) == (
        2,
        None,
        None,
        "2 past years are known here: no more is known than the calendar says",
    )


def test_a_year_with_a_hole_and_the_season_itself_do_not_count() -> None:
    years = [warm_from(year, date(year, 4, 1)) for year in range(2023, 2028)]
    years[0] = tuple(soil for soil in years[0] if soil.day != date(2023, 4, 30))
    assert spring_ahead(tuple(soil for year in years for soil in year), 2027).years == 3


def test_springs_that_never_opened_are_called_unlikely() -> None:
    past = tuple(soil for year in (2024, 2025, 2026) for soil in warm_from(year, date(year, 5, 15)))
    outlook = spring_ahead(past, 2027)
    assert outlook.opening == LikelyDay(None, None, None)
    assert outlook.closing is None
    assert outlook.reason.startswith("unlikely to open: at best 0% on 15 April; from 3 past years alone")


def test_three_real_years_of_seattle_tell_the_fourth() -> None:
    outlook = outlook_in(AUTUMN, seattle_soil(), 2015, date(2015, 6, 10))
    chances = dict(outlook.chances)
    assert outlook.years == 3
    assert len(chances) == 61
    assert all(0.0 <= chance <= 1.0 for chance in chances.values())
    assert chances[date(2015, 10, 16)] == 1.0


@pytest.mark.parametrize("back", [0, 10, 20])
def test_days_that_are_decided_are_certain_and_as_the_finder_decided_them(back: int) -> None:
    today = date(2015, 5, 15) - back * DAY
    chances = dict(outlook_in(SPRING, seattle_soil(), 2015, today).chances)
    season = [soil for soil in seattle_soil() if date(2015, 1, 30) <= soil.day < today]
    verdicts = judge_days(season, SPRING, Texture.LOAM, Span(date(2015, 4, 15), today), RULES)
    assert {day: chances[day] for day in verdicts} == {day: float(v.is_open) for day, v in verdicts.items()}


def test_a_season_like_a_past_year_has_that_year_among_its_courses() -> None:
    again = {
        date(2015, soil.day.month, soil.day.day): soil for soil in seattle_soil() if soil.day.year == 2013
    }
    seattle = [soil for soil in seattle_soil() if soil.day.year < 2015]
    soil = (*seattle, *(replace(soil, day=day) for day, soil in sorted(again.items())))
    days = SPRING.calendar(2013).days()
    season_2013 = [soil for soil in seattle if date(2013, 1, 30) <= soil.day <= days[-1]]
    was_open = judge_days(season_2013, SPRING, Texture.LOAM, Span(days[0], days[-1]), RULES)
    outlook = outlook_in(SPRING, soil, 2015, date(2015, 3, 20))
    assert outlook.years == 3
    for day, chance in outlook.chances:
        assert chance >= was_open[day.replace(year=2013)].is_open / 3 - 1e-9


def test_a_warm_week_before_the_season_makes_it_likelier_and_a_cold_one_less_likely() -> None:
    past = springs(2023, 2026, 9.0)
    today = date(2027, 4, 12)
    for mean_c, share, words in ((14.0, 1.0, "5.0 °C warmer"), (4.0, 0.0, "5.0 °C colder")):
        now = steady_soil(date(2027, 1, 1), today - DAY, mean_c)
        outlook = outlook_in(SPRING, (*past, *now), 2027, today)
        assert outlook.chances[0] == (date(2027, 4, 15), share)
        assert f"and today's soil, {words} than in them over the last week" in outlook.reason


def test_a_week_long_past_is_told_to_say_nothing() -> None:
    now = steady_soil(date(2026, 12, 1), date(2027, 1, 14), 10.0)
    outlook = spring_ahead((*springs(2023, 2026, 9.0), *now), 2027)
    # 1 °C keeps 0.44 exp(-91/35) = 0.03 °C of itself by the calendar's first day.
    assert outlook.reason.endswith(
        "from 4 past years alone: today's soil says nothing of it yet, so no more is known than the climate"
    )


def test_the_chance_that_the_soil_stays_warm_looks_ten_days_ahead() -> None:
    past = tuple(
        soil
        for year in (2024, 2025, 2026)
        for soil in (
            *steady_soil(date(year, 1, 1), date(year, 4, 30), 12.0),
            *steady_soil(date(year, 5, 1), date(year, 5, 31), 5.0),
        )
    )
    lasting = dict(spring_ahead(past, 2027).lasting)
    # The mean of a week falls below 10 °C on 3 May: (5 x 12 + 2 x 5) / 7 = 10.0, (4 x 12 + 3 x 5) / 7 = 9.0.
    assert lasting[date(2027, 4, 22)] == 1.0
    assert lasting[date(2027, 4, 23)] == 0.0


@given(
    warmer_c=st.floats(0.0, 8.0),
    days_ahead=st.integers(0, 60),
    means_c=st.lists(st.floats(4.0, 14.0), min_size=3, max_size=6),
)
def test_warmer_soil_today_never_makes_a_warm_ground_less_likely_open(
    warmer_c: float, days_ahead: int, means_c: list[float]
) -> None:
    today = date(2027, 4, 15) - timedelta(days=days_ahead)
    past = tuple(s for n, mean_c in enumerate(means_c) for s in springs(2026 - n, 2026 - n, mean_c))

    def chances(mean_c: float) -> list[float]:
        now = steady_soil(date(2027, 1, 1), today - DAY, mean_c)
        return [chance for _, chance in outlook_in(SPRING, (*past, *now), 2027, today).chances]

    pairs = zip(chances(8.0), chances(8.0 + warmer_c), strict=True)
    assert all(cool <= warm for cool, warm in pairs)


def test_it_answers_on_any_morning_of_the_year() -> None:
    past = springs(2022, 2027, 11.0)
    every_other_week = [date(2026, 6, 1) + timedelta(days=14 * n) for n in range(25)]
    for today in every_other_week:
        before = (date(2027, 4, 15) - today).days + 7
        aligned = seasons_aligned(past, SPRING, range(2012, 2027), max(before, BEFORE))
        present = seasons_aligned([], SPRING, [2027], max(before, BEFORE))
        season = Season(2027, SeasonName.SPRING)
        site = SiteSeason("vale", (Texture.CLAY,), aligned, present)
        (outlook,) = likely_dates([site], SPRING, season, RULES, today)
        assert outlook.issued_on == today
        assert outlook.years == 5


def test_it_is_looked_at_weekly_and_when_near_each_morning() -> None:
    calendar = SPRING.calendar(2027)
    due = [ahead for ahead in range(90, -40, -1) if is_due(calendar, calendar.first - timedelta(days=ahead))]
    assert due == [84, 77, 70, 63, 56, 49, 42, 35, *range(30, -31, -1)]


def test_only_what_moves_more_than_a_wobble_is_news() -> None:
    first = spring_ahead(LATER_AND_LATER, 2027)
    assert first.opening is not None
    today = date(2027, 1, 15)

    def opening(latest: date | None) -> Outlook:
        return replace(first, opening=LikelyDay(date(2027, 4, 15), date(2027, 4, 22), latest))

    def with_chance(day: date, chance: float) -> Outlook:
        return replace(first, chances=tuple((d, chance if d == day else c) for d, c in first.chances))

    assert is_news(None, first, today)
    assert not is_news(first, replace(first, issued_on=today + DAY, reason="said otherwise"), today + DAY)
    assert not is_news(first, opening(date(2027, 5, 5)), today)
    assert is_news(first, opening(date(2027, 5, 6)), today)
    assert is_news(first, opening(None), today)
    # The 15th's chance is a third.
    assert not is_news(first, with_chance(date(2027, 4, 15), 0.5), today)
    assert is_news(first, with_chance(date(2027, 4, 15), 0.54), today)
    assert not is_news(first, with_chance(date(2027, 4, 15), 1.0), date(2027, 4, 15))
    assert is_news(first, replace(first, years=4), today)
