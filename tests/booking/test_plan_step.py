"""The plan step on real records: a morning's changes in one write, and nothing when nothing changed."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date, timedelta

import pytest
from sqlalchemy import Connection, event

from models.errors import StaleRevision
from models.facts.season import Season, SeasonName, Span
from models.facts.step import Outcome
from models.facts.work import ProgrammeState, VisitState
from models.store.engine import Store
from models.store.feeds import load_feed
from models.store.ledger import SEASON_BOOK, raise_revision, revision_of
from models.store.programmes import load_programmes
from models.store.visits import load_changes
from notifiers.calendar import render_feed
from scheduler.entries.leave import leave
from scheduler.entries.refuse_day import refuse_day
from scheduler.entries.survey import record_survey
from scheduler.entries.treatment import not_treated
from scheduler.steps.plan import PlanSeason
from tests.booking.tarnwhistle import begin, booked, judged, key, likely, messages, morning, visits

AUTUMN = Season(2027, SeasonName.AUTUMN)
CALENDAR = Span(date(2027, 9, 1), date(2027, 10, 31))
JOINED = date(2027, 8, 9)  # a Monday
SURVEYED = date(2027, 8, 12)
SURVEY = f"{key()}/leatherjackets/2027/2027-2-autumn/survey/1"
TREATMENT = f"{key()}/leatherjackets/2027/2027-2-autumn/treatment/1"


def plan(store: Store, day: date) -> Outcome:
    return PlanSeason(store, render_feed).run(morning(day))


def everything(store: Store) -> tuple[object, ...]:
    with store.read() as connection:
        return (
            visits(store),
            messages(store),
            load_feed(connection, "client-001"),
            revision_of(connection, SEASON_BOOK),
        )


@pytest.fixture
def joined(store: Store) -> Store:
    """One client, whose survey is booked."""
    begin(store, 1, JOINED)
    plan(store, JOINED)
    return store


@pytest.fixture
def with_a_treatment(joined: Store) -> Store:
    """The survey is done, likely dates are known, and the treatment is booked for 1 September."""
    likely(joined, AUTUMN, CALENDAR, 0.9)
    record_survey(joined, render_feed, SURVEY, SURVEYED, morning(SURVEYED) + timedelta(hours=12))
    plan(joined, SURVEYED + timedelta(days=1))
    assert booked(joined) == {TREATMENT: date(2027, 9, 1)}
    return joined


def test_the_first_morning_books_the_survey_and_tells_the_client(joined: Store) -> None:
    assert booked(joined) == {SURVEY: SURVEYED}
    assert len(visits(joined)) == 7
    (message,) = messages(joined)
    assert (message.key, message.kind.value, message.recipient, message.payload["day"]) == (
        f"visit:{SURVEY}:rev2:booked",
        "visit-booked",
        "client-001",
        "2027-08-12",
    )
    with joined.read() as connection:
        assert [change.revision for change in load_changes(connection, SURVEY)] == [1, 2]
        feed = load_feed(connection, "client-001")
    assert feed is not None
    assert feed.content.count(b"BEGIN:VEVENT") == 1


def test_the_same_morning_again_changes_nothing(joined: Store) -> None:
    before = everything(joined)
    assert plan(joined, JOINED) == Outcome(0)
    assert plan(joined, JOINED + timedelta(days=1)) == Outcome(0)
    assert everything(joined) == before


def test_the_outcome_says_what_was_done(store: Store) -> None:
    begin(store, 2, JOINED)
    assert plan(store, JOINED) == Outcome(16, ("2 visits booked", "12 visits owed"))


def test_a_treatment_is_booked_once_the_survey_is_done(with_a_treatment: Store) -> None:
    assert visits(with_a_treatment)[TREATMENT].reason == "the window is likely open on 1 September (90%)"
    assert [message.key for message in messages(with_a_treatment)] == [
        f"visit:{SURVEY}:rev2:booked",
        f"visit:{TREATMENT}:rev2:booked",
    ]


def test_no_treatment_is_booked_before_the_survey(joined: Store) -> None:
    likely(joined, AUTUMN, CALENDAR, 0.9)
    plan(joined, SURVEYED)
    assert booked(joined) == {SURVEY: SURVEYED}


def test_without_likely_dates_the_treatment_waits_for_an_open_window(joined: Store) -> None:
    record_survey(joined, render_feed, SURVEY, SURVEYED, morning(SURVEYED) + timedelta(hours=12))
    assert plan(joined, date(2027, 9, 10)) == Outcome(0)
    judged(joined, AUTUMN, date(2027, 9, 10), is_open=True)
    plan(joined, date(2027, 9, 10))
    assert booked(joined) == {TREATMENT: date(2027, 9, 13)}


def test_a_refused_day_moves_the_visit_and_says_so(with_a_treatment: Store) -> None:
    refuse_day(with_a_treatment, key(), date(2027, 9, 1), morning(date(2027, 8, 20)))
    refuse_day(with_a_treatment, key(), date(2027, 9, 3), morning(date(2027, 8, 20)))
    plan(with_a_treatment, date(2027, 8, 21))
    assert booked(with_a_treatment) == {TREATMENT: date(2027, 9, 2)}
    moved = messages(with_a_treatment)[-1]
    assert (moved.key, moved.payload["from_day"], moved.payload["day"]) == (
        f"visit:{TREATMENT}:rev3:moved",
        "2027-09-01",
        "2027-09-02",
    )
    assert moved.payload["reason"] == (
        "1 September is refused by the client; the window is likely open on 2 September (90%)"
    )
    assert plan(with_a_treatment, date(2027, 8, 21)) == Outcome(0)


def test_a_shut_window_puts_off_the_treatment_of_tomorrow(with_a_treatment: Store) -> None:
    refuse_day(with_a_treatment, key(), date(2027, 9, 1), morning(date(2027, 8, 20)))
    plan(with_a_treatment, date(2027, 8, 21))
    today = date(2027, 9, 1)
    judged(with_a_treatment, AUTUMN, today, is_open=False)
    plan(with_a_treatment, today)
    # Thursday 2 September was tomorrow; three days' notice end on a Saturday.
    assert booked(with_a_treatment) == {TREATMENT: date(2027, 9, 6)}
    assert visits(with_a_treatment)[TREATMENT].reason == (
        "a day before the treatment of 2 September the window is shut since a week: soil at 9.1 °C; "
        "the window is likely open on 6 September (90%)"
    )
    assert plan(with_a_treatment, today) == Outcome(0)


def test_a_shut_window_leaves_later_treatments_and_today_alone(with_a_treatment: Store) -> None:
    judged(with_a_treatment, AUTUMN, date(2027, 9, 1), is_open=False)
    assert plan(with_a_treatment, date(2027, 9, 1)) == Outcome(0)
    assert plan(with_a_treatment, date(2027, 8, 29)) == Outcome(0)


def test_not_treated_is_booked_again_and_the_client_hears_why(with_a_treatment: Store) -> None:
    today = date(2027, 9, 1)
    judged(with_a_treatment, AUTUMN, today, is_open=True)
    not_treated(with_a_treatment, render_feed, TREATMENT, today, "the gate was locked", morning(today))
    plan(with_a_treatment, today + timedelta(days=1))
    assert booked(with_a_treatment) == {TREATMENT: date(2027, 9, 6)}
    moved = messages(with_a_treatment)[-1]
    assert (moved.kind.value, moved.payload["from_day"], moved.payload["reason"]) == (
        "visit-moved",
        "2027-09-01",
        "Not treated on 1 September: the gate was locked; the window is likely open on 6 September (90%)",
    )


def test_near_its_end_a_season_allows_one_day_of_notice(with_a_treatment: Store) -> None:
    for day in Span(date(2027, 9, 1), date(2027, 10, 20)).days():
        refuse_day(with_a_treatment, key(), day, morning(date(2027, 8, 20)))
    plan(with_a_treatment, date(2027, 8, 21))
    assert visits(with_a_treatment)[TREATMENT].reason == (
        "1 September is refused by the client; every working day left within "
        "1 September to 16 October is refused"
    )
    plan(with_a_treatment, date(2027, 8, 27))
    assert booked(with_a_treatment) == {TREATMENT: date(2027, 10, 21)}
    today = date(2027, 10, 21)
    not_treated(with_a_treatment, render_feed, TREATMENT, today, "hail", morning(today))
    judged(with_a_treatment, AUTUMN, today, is_open=True)
    plan(with_a_treatment, today)
    assert booked(with_a_treatment) == {TREATMENT: date(2027, 10, 22)}


def test_an_unrecorded_treatment_is_missed_after_three_days(with_a_treatment: Store) -> None:
    for late in (1, 2, 3):
        assert plan(with_a_treatment, date(2027, 9, 1) + timedelta(days=late)) == Outcome(0)
    assert plan(with_a_treatment, date(2027, 9, 5)) == Outcome(1, ("1 visits missed",))
    missed = visits(with_a_treatment)[TREATMENT]
    assert (missed.state, missed.reason) == (VisitState.MISSED, "no record of the visit on 1 September")
    assert messages(with_a_treatment)[-1].key == f"visit:{TREATMENT}:rev3:called-off"


def test_who_left_is_planned_and_told_no_more(with_a_treatment: Store) -> None:
    leave(with_a_treatment, render_feed, "client-001", "moved house", morning(date(2027, 8, 20)))
    before = everything(with_a_treatment)
    assert plan(with_a_treatment, date(2027, 8, 21)) == Outcome(0)
    assert plan(with_a_treatment, date(2028, 4, 1)) == Outcome(0)
    assert everything(with_a_treatment) == before


def test_a_programme_is_finished_when_its_years_are_over(joined: Store) -> None:
    for day in (date(2028, 4, 1), date(2029, 4, 1), date(2030, 4, 1), date(2030, 5, 16)):
        plan(joined, day)
    with joined.read() as connection:
        (programme,) = load_programmes(connection, tuple(ProgrammeState))
    assert (programme.state, programme.reason) == (
        ProgrammeState.FINISHED,
        "its 3 years are over: the last of its days was 15 May 2030",
    )
    assert not any(visit.is_open for visit in visits(joined).values())


@contextmanager
def another_writer(store: Store, times: int) -> Iterator[list[int]]:
    """Someone else writes to the season book just before a write of the step begins, `times` times."""
    left = [times]

    def before_a_write(connection: Connection) -> None:
        if left[0] and connection.get_execution_options().get("swardtide_writes", False):
            left[0] -= 1
            with store.engine.begin() as second:  # its own connection, its own transaction
                raise_revision(second, SEASON_BOOK)

    event.listen(store.engine, "engine_connect", before_a_write)
    try:
        yield left
    finally:
        event.remove(store.engine, "engine_connect", before_a_write)


def test_a_stale_revision_is_read_again(store: Store) -> None:
    begin(store, 1, JOINED)
    with another_writer(store, times=2) as left:
        assert plan(store, JOINED).changed == 8
    assert left == [0]
    assert booked(store) == {SURVEY: SURVEYED}


def test_a_revision_that_never_holds_is_an_error_and_writes_nothing(store: Store) -> None:
    begin(store, 1, JOINED)
    with another_writer(store, times=99), pytest.raises(StaleRevision, match="season-book: revision"):
        plan(store, JOINED)
    assert visits(store) == {}
    assert messages(store) == []


def queries_of_a_morning(store: Store, day: date) -> int:
    """How often the database is asked, feeds and messages of each client not counted: a set at a time."""
    asked: list[str] = []

    def note(_c: object, _cursor: object, statement: str, *_rest: object) -> None:
        if not statement.startswith("INSERT INTO messages"):
            asked.append(statement)

    event.listen(store.engine, "before_cursor_execute", note)
    plan(store, day)
    event.remove(store.engine, "before_cursor_execute", note)
    return len(asked)


def test_the_database_is_not_asked_more_often_for_more_lawns(
    sqlite_store: Store, postgres_store: Store
) -> None:
    begin(sqlite_store, 2, JOINED)
    begin(postgres_store, 17, JOINED)
    for day in (JOINED, JOINED + timedelta(days=1)):
        few, many = queries_of_a_morning(sqlite_store, day), queries_of_a_morning(postgres_store, day)
        assert many <= few + 1  # SQLite says BEGIN as a statement of its own
        assert few < 30
