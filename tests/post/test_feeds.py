"""Feeds in the records: bytes that change only with the facts, and revision, ETag and instant with them."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from hashlib import sha256

from icalendar import Calendar

from models.facts.work import Visit, VisitKind, VisitState
from models.store.engine import Store
from models.store.feeds import load_feed, refresh_feeds
from models.store.programmes import add_programme
from models.store.visits import save_visits
from notifiers.calendar import render_feed
from tests.post.cast import NOW, PROGRAMME, a_visit, move_in

LATER = datetime(2026, 4, 17, 3, 30, tzinfo=UTC)
TODAY = date(2026, 4, 9)


def keep(store: Store, *visits: Visit) -> None:
    with store.write() as connection:
        add_programme(connection, PROGRAMME)
        save_visits(connection, visits)


def refresh(store: Store, now: datetime = NOW, today: date = TODAY) -> int:
    with store.write() as connection:
        return refresh_feeds(connection, ["fern", "fern"], render_feed, now, today)


def feed(store: Store) -> tuple[bytes, str, int, datetime]:
    with store.read() as connection:
        found = load_feed(connection, "fern")
    assert found is not None
    return found.content, found.etag, found.revision, found.changed_at


def shown(store: Store) -> list[tuple[str, date, str]]:
    events = Calendar.from_ical(feed(store)[0]).walk("VEVENT")
    return [(str(event["SUMMARY"]), event["DTSTART"].dt, str(event["STATUS"])) for event in events]


def test_a_client_without_visits_has_an_empty_feed(store: Store) -> None:
    move_in(store)
    assert refresh(store) == 1
    assert shown(store) == []


def test_visits_with_a_day_are_shown_in_order_of_days(store: Store) -> None:
    move_in(store)
    treated = a_visit(state=VisitState.DONE)
    check = a_visit(VisitKind.FOLLOW_UP, day=date(2026, 5, 18))
    survey = a_visit(VisitKind.SURVEY, day=date(2026, 3, 31), state=VisitState.CALLED_OFF)
    owed = a_visit(VisitKind.COUNT, day=None, state=VisitState.OWED)
    keep(store, check, treated, survey, owed)
    refresh(store)
    assert shown(store) == [
        ("Called off: lawn survey, Back lawn", date(2026, 3, 31), "CANCELLED"),
        ("Lawn treatment done: Back lawn", date(2026, 4, 20), "CONFIRMED"),
        ("Follow-up check: Back lawn", date(2026, 5, 18), "CONFIRMED"),
    ]


def test_the_same_facts_change_nothing(store: Store) -> None:
    move_in(store)
    keep(store, a_visit())
    assert refresh(store) == 1
    before = feed(store)
    assert refresh(store, LATER) == 0
    assert feed(store) == before


def test_a_visit_that_moves_raises_the_revision_and_changes_the_etag(store: Store) -> None:
    move_in(store)
    keep(store, a_visit())
    refresh(store)
    first = feed(store)
    keep(store, replace(a_visit(), day=date(2026, 4, 22), revision=2, changed_at=LATER))
    assert refresh(store, LATER) == 1
    content, etag, revision, changed_at = feed(store)
    assert (first[2], revision, changed_at) == (1, 2, LATER)
    # RFC 9110, 8.8.3: an entity tag is quoted.
    assert etag == f'"{sha256(content).hexdigest()[:32]}"' != first[1]


def test_what_is_long_past_is_dropped(store: Store) -> None:
    move_in(store)
    keep(store, a_visit())
    refresh(store, today=date(2026, 4, 20) + timedelta(days=400))
    assert len(shown(store)) == 1
    refresh(store, today=date(2026, 4, 20) + timedelta(days=401))
    assert shown(store) == []


def test_a_client_that_is_not_known_has_none(store: Store) -> None:
    with store.read() as connection:
        assert load_feed(connection, "fern") is None
