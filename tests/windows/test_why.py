"""Why this day: the answer leads from the booking to the weather rows and their source."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest

from models.errors import NotFound
from models.facts.season import Season, SeasonName, Span
from models.facts.weather import WeatherDay
from models.facts.work import Visit, VisitKind, VisitState
from models.store.engine import Store
from models.store.visits import save_visits
from models.store.weather import append_weather
from scheduler.entries.why import explain_lawn
from scheduler.steps.windows import JudgeWindows
from tests.windows.book import a_lawn, a_programme, morning_of, write_book, write_soil
from tests.windows.soil import DAY, steady_soil

SPRING = Season(2027, SeasonName.SPRING)
JOINED = date(2026, 12, 1)
OPENED, TODAY, BOOKED = date(2027, 4, 15), date(2027, 4, 16), date(2027, 4, 20)
OAT = a_lawn("oat")
PROGRAMME = a_programme(OAT, JOINED)
WARM = "the 7-day mean of the 10 cm soil is 12.0 °C, it needs 10 °C"
VISIT = Visit(
    key=Visit.key_for(PROGRAMME.key, SPRING, VisitKind.TREATMENT),
    programme_key=PROGRAMME.key,
    lawn_key=OAT.key,
    season=SPRING,
    kind=VisitKind.TREATMENT,
    allowed=Span(OPENED, date(2027, 5, 15)),
    minutes=44,
    packs=3,
    state=VisitState.BOOKED,
    day=BOOKED,
    revision=2,
    reason="the window is open and the day has room",
    changed_at=morning_of(TODAY),
)


def weather(day: date, least_c: float = 6.0) -> WeatherDay:
    return WeatherDay(day, least_c, 15.0, 2.0, source="station-file vale")


@pytest.fixture
def book(store: Store) -> Store:
    """One lawn with a booked treatment, a filled gap of two days, and one day corrected since."""
    write_book(store, [OAT], JOINED)
    gap = {date(2027, 4, day): {"gap_days": 2, "weather_revision": 0} for day in (10, 11)}
    write_soil(store, "vale", steady_soil(date(2027, 1, 1), TODAY - DAY, changes=gap))
    days = [weather(day) for day in Span(date(2027, 4, 1), TODAY - DAY).days() if day not in gap]
    with store.write() as connection:
        append_weather(connection, "vale", days, morning_of(TODAY))
        append_weather(connection, "vale", [weather(date(2027, 4, 13), 5.0)], morning_of(TODAY + DAY))
        save_visits(connection, [VISIT])
    return store


def a_day(day: int, **words: str) -> str:
    known = "measured, revision 1, known at 2027-04-16 03:30 UTC"
    row = f"from minimum 6.0 °C, maximum 15.0 °C, rain 2.0 mm ({known})."
    return f"2027-04-{day:02}: soil 12.0 °C (standard deviation 0.9 °C), {words.get('row', row)}"


def test_the_answer_leads_from_the_booking_to_the_source(book: Store) -> None:
    JudgeWindows(book).run(morning_of(OPENED))
    JudgeWindows(book).run(morning_of(TODAY))
    filled = "weather filled across a gap of 2 days, no weather on record for that day."
    assert explain_lawn(book, OAT.key, morning_of(TODAY)) == (
        "oat lawn (oat/lawn): 150 m² on loam.",
        "treatment in spring 2027: 2027-04-20 (booked, revision 2), "
        "because the window is open and the day has room.",
        f"Window of spring 2027 against leatherjackets with S. feltiae: open since 15 April: {WARM}.",
        f"Opened on 2027-04-15: {WARM}.",
        "The rule is common practice: mid-April to mid-May, double dose; 10 °C held for a week.",
        "Likely dates: 0 past years are known here: no more is known than the calendar says.",
        "For 2027-04-16 the 7 whole days before it count; the mean of their estimated 10 cm soil is 12.0 °C:",
        a_day(9),
        a_day(10, row=filled),
        a_day(11, row=filled),
        *(a_day(day) for day in (12, 13, 14, 15)),
        "Ground at the end of 2027-04-15: moist, not waterlogged and not frozen "
        "(0.0 mm short of 34.0 mm, 0.0 mm above).",
        "Weather of site Vale (vale) through station-file; source: station-file vale.",
    )


def test_a_correction_since_is_told_beside_what_the_estimate_rests_on(book: Store) -> None:
    JudgeWindows(book).run(morning_of(TODAY))
    told = explain_lawn(book, OAT.key, morning_of(TODAY + DAY))
    assert [line for line in told if line.startswith("2027-04-13")] == [
        "2027-04-13: soil 12.0 °C (standard deviation 0.9 °C), from minimum 5.0 °C, maximum 15.0 °C, "
        "rain 2.0 mm (measured, revision 2, known at 2027-04-17 03:30 UTC); "
        "the estimate rests on revision 1, measured."
    ]


def test_a_treatment_that_was_done_is_explained_by_its_own_day(book: Store) -> None:
    JudgeWindows(book).run(morning_of(TODAY))
    with book.write() as connection:
        save_visits(connection, [replace(VISIT, day=OPENED, state=VisitState.DONE, revision=3)])
    told = explain_lawn(book, OAT.key, morning_of(TODAY + timedelta(days=40)))
    assert told[1].startswith("treatment in spring 2027: 2027-04-15 (done, revision 3)")
    assert told[6].startswith("For 2027-04-15 the 7 whole days before it count;")


def test_before_anything_is_judged_it_says_so(book: Store) -> None:
    lines = explain_lawn(book, OAT.key, morning_of(TODAY))
    assert lines[2:] == ("No window has been judged for it yet.", "No day of it is decided yet.")
    JudgeWindows(book).run(morning_of(date(2027, 3, 1)))
    told = explain_lawn(book, OAT.key, morning_of(date(2027, 3, 1)))
    assert told[2].endswith("S. feltiae: not yet: the calendar opens on 15 April.")
    assert told[-1] == "No day of it is decided yet."


def test_asking_changes_nothing(book: Store) -> None:
    JudgeWindows(book).run(morning_of(TODAY))
    once = explain_lawn(book, OAT.key, morning_of(TODAY))
    assert explain_lawn(book, OAT.key, morning_of(TODAY)) == once


def test_a_lawn_that_is_not_known_is_said(book: Store) -> None:
    with pytest.raises(NotFound, match="lawn 'nowhere' is not known"):
        explain_lawn(book, "nowhere", morning_of(TODAY))
