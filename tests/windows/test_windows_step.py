"""The windows step on real records: once a day, for all lawns, in both databases."""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import replace
from datetime import date, timedelta

import pytest
from sqlalchemy import event

from models.errors import StaleRevision
from models.facts.place import Texture
from models.facts.season import Season, SeasonName, Span, Turn, Window
from models.facts.step import Outcome
from models.facts.work import ProgrammeState
from models.store.engine import Store
from models.store.ledger import claim_revision, revision_of
from models.store.programmes import end_programme
from models.store.windows import (
    WINDOW_BOOK,
    load_outlooks,
    load_windows,
    save_outlooks,
    save_windows,
    windows_of,
)
from scheduler.steps.again import TIMES, again_if_stale
from scheduler.steps.windows import JudgeWindows
from tests.windows.book import a_lawn, a_programme, morning_of, write_book, write_soil
from tests.windows.soil import steady_soil

SPRING = Season(2027, SeasonName.SPRING)
JOINED = date(2026, 12, 1)
FIRST, LAST = date(2027, 4, 15), date(2027, 5, 15)
OAT, RYE, CLAY = a_lawn("oat"), a_lawn("rye"), a_lawn("clay", texture=Texture.CLAY)
HILL = a_lawn("sedge", site_key="hill")


@pytest.fixture
def book(store: Store) -> Store:
    """Four lawns on two sites: the vale warm from the first, the hill from 1 May on."""
    write_book(store, [OAT, RYE, CLAY, HILL], JOINED)
    write_soil(store, "vale", steady_soil(date(2027, 1, 1), date(2027, 6, 1)))
    cold = steady_soil(date(2027, 1, 1), date(2027, 4, 30), 6.0)
    write_soil(store, "hill", (*cold, *steady_soil(date(2027, 5, 1), date(2027, 6, 1), 18.0)))
    return store


def windows(store: Store) -> dict[str, Window]:
    with store.read() as connection:
        return {window.lawn_key: window for window in load_windows(connection, [SPRING.key])}


@contextmanager
def counted_statements(store: Store) -> Iterator[list[str]]:
    said: list[str] = []

    def note(_connection: object, _cursor: object, statement: str, *_rest: object) -> None:
        said.append(statement)

    event.listen(store.engine, "before_cursor_execute", note)
    yield said
    event.remove(store.engine, "before_cursor_execute", note)


def test_the_first_morning_of_the_season_opens_what_is_warm(book: Store) -> None:
    outcome = JudgeWindows(book).run(morning_of(FIRST))
    warm = "the 7-day mean of the 10 cm soil is 12.0 °C, it needs 10 °C"
    assert {
        key: (window.turns, window.judged_to, window.reason) for key, window in windows(book).items()
    } == {
        lawn.key: ((Turn(FIRST, True, warm),), FIRST, f"open since 15 April: {warm}")
        for lawn in (OAT, RYE, CLAY)
    } | {
        HILL.key: (
            (),
            FIRST,
            "shut: the 7-day mean of the 10 cm soil is 6.0 °C, it needs 10 °C",
        )
    }
    assert outcome == Outcome(
        7,
        (
            f"spring 2027: open since 15 April: {warm} (lawns: 3)",
            "hill, spring 2027: 0 past years are known here: no more is known than the calendar says",
            "vale, spring 2027: 0 past years are known here: no more is known than the calendar says",
            "vale, spring 2027: 0 past years are known here: no more is known than the calendar says",
        ),
    )


def test_run_again_it_changes_nothing(book: Store) -> None:
    step = JudgeWindows(book)
    step.run(morning_of(FIRST))
    before = windows(book)
    assert step.run(morning_of(FIRST)) == Outcome(0)
    assert step.run(morning_of(FIRST) + timedelta(hours=9)) == Outcome(0)
    assert windows(book) == before


def test_two_at_once_write_once(book: Store) -> None:
    with ThreadPoolExecutor(2) as workers:
        outcomes = list(workers.map(JudgeWindows(book).run, [morning_of(FIRST)] * 2))
    assert sorted(outcome.changed for outcome in outcomes) == [0, 7]
    with book.read() as connection:
        assert revision_of(connection, WINDOW_BOOK) == 1


def test_three_weeks_of_standstill_come_to_the_same(book: Store) -> None:
    JudgeWindows(book).run(morning_of(FIRST))
    JudgeWindows(book).run(morning_of(FIRST + timedelta(days=21)))
    late = windows(book)
    assert late[OAT.key].spans == (Span(FIRST, date(2027, 5, 6)),)
    # The hill's mean: 4 days at 18 °C and 3 at 6 are 12.9 °C, 2 and 5 are 9.4 °C, 3 and 4 are 11.1 °C.
    assert late[HILL.key].spans == (Span(date(2027, 5, 4), date(2027, 5, 6)),)


def test_a_season_that_is_over_is_closed_and_then_left_alone(book: Store) -> None:
    step = JudgeWindows(book)
    for day in (FIRST, LAST, LAST + timedelta(days=9)):
        step.run(morning_of(day))
    over = windows(book)[HILL.key]
    assert over.judged_to == LAST + timedelta(days=1)
    assert over.reason == (
        "over: open on 12 of 31 days (4 May to 15 May); it opened on 4 May: "
        "the 7-day mean of the 10 cm soil is 11.1 °C, it needs 10 °C"
    )
    assert step.run(morning_of(LAST + timedelta(days=10))) == Outcome(0)


def test_before_the_season_the_lawn_is_told_when_the_calendar_opens(book: Store) -> None:
    step = JudgeWindows(book)
    assert step.run(morning_of(FIRST - timedelta(days=91))) == Outcome(0)
    step.run(morning_of(FIRST - timedelta(days=90)))
    assert {window.reason for window in windows(book).values()} == {"not yet: the calendar opens on 15 April"}
    assert step.run(morning_of(FIRST - timedelta(days=89))) == Outcome(0)
    step.run(morning_of(FIRST))
    assert windows(book)[OAT.key].spans == (Span(FIRST, FIRST),)


def test_likely_dates_are_worked_out_once_for_each_site_and_texture(book: Store) -> None:
    write_soil(book, "vale", steady_soil(date(2024, 1, 1), date(2026, 12, 31)))
    JudgeWindows(book).run(morning_of(FIRST - timedelta(days=90)))
    with book.read() as connection:
        found = load_outlooks(connection, [SPRING.key])
    assert [(one.site_key, one.texture, one.years) for one in found] == [
        ("hill", Texture.LOAM, 0),
        ("vale", Texture.CLAY, 3),
        ("vale", Texture.LOAM, 3),
    ]
    assert {chance for _, chance in found[2].chances} == {1.0}


def test_a_lawn_that_joins_in_mid_season_has_its_days_decided_from_the_first(book: Store) -> None:
    step = JudgeWindows(book)
    step.run(morning_of(date(2027, 5, 3)))
    late = a_lawn("late")
    write_book(book, [late], date(2027, 5, 3))
    assert step.run(morning_of(date(2027, 5, 3))).changed == 1
    assert windows(book)[late.key].spans == windows(book)[OAT.key].spans


def test_a_lawn_whose_programme_has_ended_is_judged_no_more(book: Store) -> None:
    JudgeWindows(book).run(morning_of(FIRST))
    with book.write() as connection:
        assert end_programme(connection, a_programme(OAT, JOINED).key, ProgrammeState.ENDED, "left")
    JudgeWindows(book).run(morning_of(FIRST + timedelta(days=1)))
    assert windows(book)[OAT.key].judged_to == FIRST
    assert windows(book)[RYE.key].judged_to == FIRST + timedelta(days=1)


def test_windows_and_likely_dates_come_back_as_they_were_kept(book: Store) -> None:
    JudgeWindows(book).run(morning_of(date(2027, 5, 5)))
    with book.read() as connection:
        kept, likely = load_windows(connection), load_outlooks(connection, [SPRING.key])
        assert windows_of(connection, OAT.key) == (windows(book)[OAT.key],)
    changed = [replace(window, reason="by hand") for window in kept]
    with book.write() as connection:
        save_windows(connection, changed)
        save_outlooks(connection, likely)
    with book.read() as connection:
        assert load_windows(connection) == tuple(changed)
        assert load_outlooks(connection, [SPRING.key]) == likely


def test_the_number_of_queries_does_not_grow_with_the_lawns(book: Store) -> None:
    step = JudgeWindows(book)
    step.run(morning_of(FIRST))
    with counted_statements(book) as few:
        step.run(morning_of(FIRST + timedelta(days=1)))
    many = [a_lawn(f"more-{n}") for n in range(30)]
    write_book(book, many, JOINED)
    step.run(morning_of(FIRST + timedelta(days=2)))
    with counted_statements(book) as more:
        step.run(morning_of(FIRST + timedelta(days=3)))
    assert len(few) == len(more) <= 16
    step.run(morning_of(date(2027, 12, 1)))
    with counted_statements(book) as idle:
        step.run(morning_of(date(2027, 12, 2)))
    assert len([one for one in idle if "FROM" in one]) <= 3


def test_a_step_is_done_again_when_its_records_have_changed(sqlite_store: Store) -> None:
    tries: list[int] = []

    def work() -> Outcome:
        tries.append(len(tries))
        with sqlite_store.write() as connection:
            claim_revision(connection, WINDOW_BOOK, len(tries) - 2)  # right at the second try
        return Outcome(1)

    assert again_if_stale(work) == Outcome(1)
    assert tries == [0, 1]


def test_a_step_whose_records_never_hold_still_gives_up(sqlite_store: Store) -> None:
    tries: list[int] = []

    def work() -> Outcome:
        tries.append(len(tries))
        with sqlite_store.write() as connection:
            claim_revision(connection, WINDOW_BOOK, -1)
        return Outcome(1)

    with pytest.raises(StaleRevision):
        again_if_stale(work)
    assert len(tries) == TIMES
