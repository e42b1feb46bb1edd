"""From a plan to changed visits: identity kept, revision raised, the rest untouched."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime

from models.facts.season import Season, SeasonName, Span
from models.facts.work import Visit, VisitKind, VisitState
from scheduler.booking.changes import changes
from scheduler.booking.plan import Placement, Plan, Unplaced

THEN = datetime(2027, 9, 1, 3, 30, tzinfo=UTC)
NOW = datetime(2027, 9, 6, 3, 30, tzinfo=UTC)
OWED = Visit(
    key="p/2027-2-autumn/treatment/1",
    programme_key="p",
    lawn_key="oat/lawn",
    season=Season(2027, SeasonName.AUTUMN),
    kind=VisitKind.TREATMENT,
    allowed=Span(date(2027, 9, 1), date(2027, 10, 31)),
    minutes=36,
    packs=2,
    state=VisitState.OWED,
    day=None,
    revision=1,
    reason="autumn treatment 1 of 3",
    changed_at=THEN,
)
BOOKED = replace(OWED, state=VisitState.BOOKED, day=date(2027, 9, 14), revision=2, reason="likely open")

NONE_LEFT = Unplaced("no day left", "a longer working day")


def placed(day: date, reason: str) -> Plan:
    return Plan({OWED.key: Placement(day, reason)}, {})


def test_an_owed_visit_gets_its_day_and_keeps_its_identity() -> None:
    expected = replace(BOOKED, changed_at=NOW)
    assert changes([OWED], placed(date(2027, 9, 14), "likely open"), NOW) == (expected,)


def test_a_moved_visit_is_the_same_visit_with_the_next_revision() -> None:
    expected = replace(BOOKED, day=date(2027, 9, 16), revision=3, reason="refused", changed_at=NOW)
    assert changes([BOOKED], placed(date(2027, 9, 16), "refused"), NOW) == (expected,)


def test_a_visit_that_keeps_its_day_is_untouched_whatever_the_reason_given() -> None:
    assert changes([BOOKED], placed(date(2027, 9, 14), "keeps its day"), NOW) == ()


def test_a_booked_visit_without_a_day_is_owed_again() -> None:
    expected = replace(
        BOOKED, state=VisitState.OWED, day=None, revision=3, reason="no day left", changed_at=NOW
    )
    assert changes([BOOKED], Plan({}, {OWED.key: NONE_LEFT}), NOW) == (expected,)


def test_an_owed_visit_that_stays_without_a_day_is_untouched() -> None:
    assert changes([OWED], Plan({}, {OWED.key: NONE_LEFT}), NOW) == ()


def test_a_visit_the_plan_does_not_speak_of_is_untouched() -> None:
    assert changes([BOOKED, OWED], Plan({}, {}), NOW) == ()
