"""Likely dates from past years, and honesty where there are too few."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from models.facts.place import Texture
from models.facts.rules import COMMON_WINDOWS, BusinessRules
from models.facts.season import Outlook, Season, SeasonName
from models.facts.weather import SoilDay
from scheduler.windows.outlook import likely_dates
from tests.windows.soil import seattle_soil, steady_soil

RULES = BusinessRules()
SPRING, AUTUMN = COMMON_WINDOWS


def warm_from(year: int, day: date) -> tuple[SoilDay, ...]:
    """A spring at 6 °C until `day`, at 30 °C from then on: open from the third day after (2 x 30 + 5 x 6)."""
    cold = steady_soil(date(year, 1, 1), day - timedelta(days=1), 6.0)
    return (*cold, *steady_soil(day, date(year, 5, 31), 30.0))


def outlook_of(soil: tuple[SoilDay, ...], year: int) -> Outlook:
    return likely_dates(soil, SPRING, Texture.LOAM, Season(year, SeasonName.SPRING), RULES, "vale")


def test_a_chance_is_the_share_of_past_years_in_which_the_day_was_open() -> None:
    past = (
        *warm_from(2024, date(2024, 4, 1)),
        *warm_from(2025, date(2025, 4, 20)),
        *warm_from(2026, date(2026, 5, 1)),
    )
    outlook = outlook_of(past, 2027)
    chances = dict(outlook.chances)
    assert outlook.years == 3
    assert [day for day, _ in outlook.chances] == list(SPRING.calendar(2027).days())
    # 2 x 30 + 5 x 6 = 90, a mean of 12.9 °C; 30 + 6 x 6 = 66, a mean of 9.4 °C.
    assert chances[date(2027, 4, 21)] == pytest.approx(1 / 3)
    assert chances[date(2027, 4, 22)] == pytest.approx(2 / 3)
    assert chances[date(2027, 5, 2)] == pytest.approx(2 / 3)
    assert chances[date(2027, 5, 3)] == 1.0
    assert outlook.reason == "in at least half of 3 past years it was open between 22 April and 15 May"


def test_two_years_say_no_more_than_the_calendar() -> None:
    past = (*warm_from(2025, date(2025, 4, 1)), *warm_from(2026, date(2026, 4, 1)))
    outlook = outlook_of(past, 2027)
    assert {chance for _, chance in outlook.chances} == {0.5}
    assert (outlook.years, outlook.reason) == (
        2,
        "2 past years are known here: no more is known than the calendar says",
    )


def test_a_year_with_a_hole_and_the_season_itself_do_not_count() -> None:
    years = [warm_from(year, date(year, 4, 1)) for year in range(2023, 2028)]
    years[0] = tuple(soil for soil in years[0] if soil.day != date(2023, 4, 30))
    assert outlook_of(tuple(soil for year in years for soil in year), 2027).years == 3


def test_springs_that_never_opened_are_called_unlikely() -> None:
    past = tuple(soil for year in (2024, 2025, 2026) for soil in warm_from(year, date(year, 5, 14)))
    assert outlook_of(past, 2027).reason == "unlikely to open: at best 0% of 3 past years, on 15 April"


def test_three_real_years_of_seattle_tell_the_fourth() -> None:
    outlook = likely_dates(
        seattle_soil(), AUTUMN, Texture.LOAM, Season(2015, SeasonName.AUTUMN), RULES, "seattle"
    )
    chances = dict(outlook.chances)
    assert outlook.years == 3
    assert len(chances) == 61
    assert all(0.0 <= chance <= 1.0 for chance in chances.values())
    assert chances[date(2015, 10, 16)] == 1.0
