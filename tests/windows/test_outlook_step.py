"""Likely dates on real records: worked out again as the season nears, written only where they are news."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from models.facts.season import Outlook, Season, SeasonName
from models.facts.weather import Provenance, SoilDay
from models.store.engine import Store
from models.store.windows import load_outlooks
from scheduler.steps.likely import known
from scheduler.steps.windows import JudgeWindows
from tests.windows.book import a_lawn, morning_of, write_book, write_soil
from tests.windows.soil import DAY, a_soil_day, steady_soil

SPRING = Season(2027, SeasonName.SPRING)
FIRST = date(2027, 4, 15)
OAT = a_lawn("oat")


def springs(mean_c: float) -> tuple[SoilDay, ...]:
    return tuple(
        soil
        for year in (2023, 2024, 2025, 2026)
        for soil in steady_soil(date(year, 1, 1), date(year, 12, 31), mean_c)
    )


@pytest.fixture
def book(store: Store) -> Store:
    """A lawn whose past springs were just too cold, and whose soil this year is as cold until 1 April."""
    write_book(store, [OAT], date(2026, 12, 1))
    cold = steady_soil(date(2027, 1, 1), date(2027, 3, 31), 9.0)
    write_soil(store, "vale", (*springs(9.0), *cold, *steady_soil(date(2027, 4, 1), FIRST, 13.0)))
    return store


def outlook(store: Store) -> Outlook:
    with store.read() as connection:
        (found,) = load_outlooks(connection, [SPRING.key])
    return found


def test_they_stay_until_the_soil_brings_news(book: Store) -> None:
    step = JudgeWindows(book)
    step.run(morning_of(date(2027, 1, 15)))
    first = outlook(book)
    assert (first.issued_on, first.opening is not None and first.opening.likely) == (date(2027, 1, 15), None)
    for day in (date(2027, 1, 21), date(2027, 2, 4), date(2027, 3, 16), date(2027, 4, 1)):
        assert step.run(morning_of(day)).changed == 0
    assert outlook(book) == first
    step.run(morning_of(date(2027, 4, 8)))
    warm = outlook(book)
    assert warm.issued_on == date(2027, 4, 8)
    assert warm.opening is not None
    assert warm.opening.earliest == warm.opening.latest == FIRST
    assert "today's soil, 4.0 °C warmer than in them over the last week" in warm.reason


def test_a_step_run_twice_says_the_same_whatever_its_process_remembers(book: Store) -> None:
    step = JudgeWindows(book)
    for day in (date(2027, 1, 15), date(2027, 4, 8), date(2027, 4, 12)):
        step.run(morning_of(day))
        kept = outlook(book)
        assert step.run(morning_of(day)).changed == 0
        assert JudgeWindows(book).run(morning_of(day)).changed == 0
        assert outlook(book) == kept


def test_a_past_that_is_corrected_is_not_remembered_wrongly(book: Store) -> None:
    step = JudgeWindows(book)
    step.run(morning_of(date(2027, 1, 21)))
    write_soil(book, "vale", springs(15.0))
    step.run(morning_of(date(2027, 1, 28)))
    corrected = outlook(book)
    assert {chance for _, chance in corrected.chances} == {1.0}
    assert corrected.issued_on == date(2027, 1, 28)


def test_the_days_behind_and_forecast_days_are_known_and_no_others() -> None:
    today = date(2027, 4, 8)
    days = [a_soil_day(today + n * DAY) for n in (-1, 0, 1)]
    forecast = replace(days[2], provenance=Provenance.FORECAST)
    assert known([*days[:2], forecast], today) == (days[0], forecast)


def test_a_forecast_warm_week_is_seen_before_it_comes(book: Store) -> None:
    step = JudgeWindows(book)
    step.run(morning_of(date(2027, 3, 31)))
    assert {chance for _, chance in outlook(book).chances} == {0.0}
    warm_week = steady_soil(date(2027, 3, 31), date(2027, 4, 9), 15.0)
    write_soil(book, "vale", [replace(day, provenance=Provenance.FORECAST) for day in warm_week])
    step.run(morning_of(date(2027, 3, 31)))
    forecast = outlook(book)
    assert forecast.chances[0] == (FIRST, 1.0)
    assert forecast.issued_on == date(2027, 3, 31)
