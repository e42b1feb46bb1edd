"""Windows by each lawn's own soil: its probe readings and its shade, and what is said of them."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest

from models.facts.place import Shade
from models.facts.readings import Reading
from models.facts.season import Season, SeasonName, Window
from models.facts.weather import WeatherDay
from models.store.engine import Store
from models.store.readings import add_reading
from models.store.weather import append_weather
from models.store.windows import load_windows, windows_of
from scheduler.entries.reading import record_reading
from scheduler.entries.why import explain_lawn
from scheduler.steps.windows import JudgeWindows
from tests.windows.book import a_lawn, morning_of, write_book, write_soil
from tests.windows.soil import steady_soil

SPRING = Season(2027, SeasonName.SPRING)
OPENS, TODAY = date(2027, 4, 15), date(2027, 4, 20)
OAT, RYE = a_lawn("oat"), a_lawn("rye")
SHADY = replace(a_lawn("fern"), shade=Shade.SHADED)
VISITS = (date(2027, 3, 29), date(2027, 4, 5), date(2027, 4, 12))
DAY = timedelta(days=1)


@pytest.fixture
def book(store: Store) -> Store:
    """Three lawns on a site just warm enough: 10.3 °C from the first day on."""
    write_book(store, [OAT, RYE, SHADY], date(2026, 12, 1))
    sunny = {
        day: {"reference_et_mm": 4.0, "rain_mm": 4.0} for day in (OPENS + n * DAY for n in range(-100, 32))
    }
    write_soil(store, "vale", steady_soil(date(2027, 1, 1), date(2027, 6, 1), 10.3, sunny))
    with store.write() as connection:
        dull = [WeatherDay(day, 8.0, 8.0, 2.0) for day in VISITS]  # no swing: readings are daily means
        append_weather(connection, "vale", dull, morning_of(VISITS[0]))
    return store


def a_reading(day: date, value_c: float, lawn_key: str = OAT.key) -> Reading:
    taken_at = datetime(day.year, day.month, day.day, 10, 0, tzinfo=UTC)
    return Reading(lawn_key, taken_at, day, 10.0, value_c, True, recorded_at=taken_at)


def read(store: Store, *readings: Reading) -> None:
    with store.write() as connection:
        for reading in readings:
            add_reading(connection, reading)


def windows(store: Store) -> dict[str, Window]:
    with store.read() as connection:
        return {window.lawn_key: window for window in load_windows(connection, [SPRING.key])}


def test_a_lawn_that_reads_colder_than_its_site_stays_shut_beside_one_that_is_open(book: Store) -> None:
    read(book, *(a_reading(day, 9.0) for day in VISITS))
    JudgeWindows(book).run(morning_of(OPENS))
    found = windows(book)
    assert found[RYE.key].is_open
    assert not found[OAT.key].is_open
    assert found[OAT.key].reason.startswith("shut: the 7-day mean of the 10 cm soil is 9.")


def test_shade_alone_keeps_a_sunny_springs_window_shut(book: Store) -> None:
    JudgeWindows(book).run(morning_of(OPENS))
    assert {key: window.is_open for key, window in windows(book).items()} == {
        OAT.key: True,
        RYE.key: True,
        SHADY.key: False,
    }


def test_a_reading_opens_nothing_before_its_day_and_undecides_no_day(book: Store) -> None:
    JudgeWindows(book).run(morning_of(OPENS))
    once = windows(book)
    read(book, *(a_reading(day, 9.0) for day in VISITS))
    late = a_reading(OPENS, 9.0)
    read(book, late)
    assert JudgeWindows(book).run(morning_of(OPENS)).changed == 0
    assert windows(book) == once
    JudgeWindows(book).run(morning_of(TODAY))
    turns = windows(book)[OAT.key].turns
    assert [(turn.day, turn.is_open) for turn in turns] == [(OPENS, True), (OPENS + DAY, False)]


def test_a_reading_recorded_later_does_not_count_for_an_earlier_instant(book: Store) -> None:
    read(book, *(replace(a_reading(day, 9.0), recorded_at=morning_of(TODAY)) for day in VISITS))
    JudgeWindows(book).run(morning_of(OPENS))
    assert windows(book)[OAT.key].is_open


def test_run_again_and_day_by_day_it_comes_to_the_same(book: Store) -> None:
    read(book, *(a_reading(day, 9.0) for day in VISITS))
    for offset in range((TODAY - OPENS).days + 1):
        JudgeWindows(book).run(morning_of(OPENS + offset * DAY))
    day_by_day = windows(book)
    assert JudgeWindows(book).run(morning_of(TODAY)).changed == 0
    assert windows(book) == day_by_day
    assert [turn.is_open for turn in day_by_day[OAT.key].turns] == []


def test_a_reading_that_cannot_be_is_said_by_the_step_and_by_why(book: Store) -> None:
    read(book, a_reading(VISITS[0], 9.0))
    JudgeWindows(book).run(morning_of(OPENS))
    record_reading(book, OAT.key, a_reading(OPENS, 0.0).taken_at, 10.0, 29.0, True, morning_of(OPENS + DAY))
    said = JudgeWindows(book).run(morning_of(OPENS + DAY)).said
    assert [line for line in said if "set aside" in line] == [
        f"{OAT.key}: a reading is set aside: {reason_of(book)}"
    ]
    assert not [line for line in JudgeWindows(book).run(morning_of(TODAY)).said if "set aside" in line]
    told = explain_lawn(book, OAT.key, morning_of(TODAY))
    assert f"Set aside: {reason_of(book)}." in told


def reason_of(store: Store) -> str:
    told = explain_lawn(store, OAT.key, morning_of(TODAY))
    [line] = [line for line in told if line.startswith("Set aside: ")]
    reason = line.removeprefix("Set aside: ").removesuffix(".")
    assert reason.startswith("29.0 °C at 10 cm on 15 April speaks for a day ")
    return reason


def test_why_says_how_many_readings_and_shows_the_lawns_own_days(book: Store) -> None:
    read(book, *(a_reading(day, 9.0) for day in VISITS))
    JudgeWindows(book).run(morning_of(OPENS))
    told = explain_lawn(book, OAT.key, morning_of(OPENS))
    [of_readings] = [line for line in told if line.startswith("3 readings at this lawn: ")]
    assert of_readings.endswith(" °C colder than the site's estimate.")
    assert not [line for line in told if "soil 10.3 °C" in line]
    plain = explain_lawn(book, RYE.key, morning_of(OPENS))
    assert not [line for line in plain if "reading" in line]
    assert len([line for line in plain if "soil 10.3 °C" in line]) == 7


def test_a_reading_told_after_a_day_was_decided_does_not_explain_it(book: Store) -> None:
    JudgeWindows(book).run(morning_of(OPENS))
    before = explain_lawn(book, OAT.key, morning_of(OPENS))
    read(book, replace(a_reading(VISITS[0], 9.0), recorded_at=morning_of(TODAY)))
    assert explain_lawn(book, OAT.key, morning_of(TODAY)) == before


def test_a_season_that_is_over_is_summed_up_by_the_lawns_own_soil(book: Store) -> None:
    read(book, *(a_reading(day, 7.5) for day in VISITS))
    for day in (date(2027, 4, 1), date(2027, 5, 17)):
        JudgeWindows(book).run(morning_of(day))
    with book.read() as connection:
        [oat], [rye] = windows_of(connection, OAT.key), windows_of(connection, RYE.key)
    assert rye.reason.startswith("over: open on 31 of 31 days")
    assert oat.reason.startswith("never opened in spring 2027: the 7-day mean of the 10 cm soil was")
