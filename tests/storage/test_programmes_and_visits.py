"""Programmes and visits keep what they were given, on both databases, with every revision they had."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime

import pytest
from sqlalchemy.exc import IntegrityError

from models.errors import NotFound
from models.facts.place import Client, Lawn, Position, Site, Texture, Zone
from models.facts.season import Pest, Season, SeasonName, Span, Species
from models.facts.work import Programme, ProgrammeState, Visit, VisitKind, VisitState
from models.store.engine import Store
from models.store.people import add_clients, save_sites
from models.store.programmes import Ending, add_programme, end_programme, end_programmes, load_programmes
from models.store.visits import (
    VisitChange,
    find_visit,
    last_days,
    load_changes,
    load_running_visits,
    load_visits,
    save_visits,
)

NOW = datetime(2027, 8, 20, 3, 30, tzinfo=UTC)
LATER = datetime(2027, 8, 23, 3, 30, tzinfo=UTC)
AUTUMN = Season(2027, SeasonName.AUTUMN)

PROGRAMME = Programme(
    "oat/lawn/leatherjackets/2027",
    "oat/lawn",
    Pest.LEATHERJACKETS,
    Species.S_FELTIAE,
    date(2027, 8, 20),
    years=3,
)
SURVEY = Visit(
    key=Visit.key_for(PROGRAMME.key, AUTUMN, VisitKind.SURVEY),
    programme_key=PROGRAMME.key,
    lawn_key=PROGRAMME.lawn_key,
    season=AUTUMN,
    kind=VisitKind.SURVEY,
    allowed=Span(date(2027, 8, 23), date(2027, 10, 1)),
    minutes=30,
    packs=0,
    state=VisitState.OWED,
    day=None,
    revision=1,
    reason="a new lawn is surveyed first",
    changed_at=NOW,
)
COUNT = replace(
    SURVEY, key=f"{PROGRAMME.key}/2028-1-spring/late-winter-count/1", kind=VisitKind.COUNT, minutes=40
)
BOOKED = replace(
    SURVEY,
    state=VisitState.BOOKED,
    day=date(2027, 8, 26),
    revision=2,
    reason="the first day with room",
    changed_at=LATER,
)


@pytest.fixture
def book(store: Store) -> Store:
    """One invented lawn with its programme."""
    with store.write() as connection:
        save_sites(connection, [Site("vale", "Vale", Position(52.1, -6.4), 30.0, "station-file")])
        client = Client("oat", "Orla Oat", "orla@example.com", None, "Europe/Dublin")
        zones = (Zone("front", 150.0),)
        lawn = Lawn("oat/lawn", "oat", "Front lawn", Position(52.1, -6.4), "vale", Texture.LOAM, zones, None)
        add_clients(connection, [client], [lawn])
        assert add_programme(connection, PROGRAMME) == 1
    return store


def test_a_programme_is_added_once_and_comes_back_whole(book: Store) -> None:
    with book.write() as connection:
        assert add_programme(connection, replace(PROGRAMME, years=5)) == 0
    with book.read() as connection:
        assert load_programmes(connection) == (PROGRAMME,)


def test_a_programme_ends_once_and_keeps_its_reason(book: Store) -> None:
    with book.write() as connection:
        assert end_programme(connection, PROGRAMME.key, ProgrammeState.ENDED, "the client moved house")
        assert not end_programme(connection, PROGRAMME.key, ProgrammeState.FINISHED, "three years are over")
        end_programmes(connection, [Ending(PROGRAMME.key, ProgrammeState.FINISHED, "again")])
        assert load_programmes(connection) == ()
        ended = replace(PROGRAMME, state=ProgrammeState.ENDED, reason="the client moved house")
        assert load_programmes(connection, states=tuple(ProgrammeState)) == (ended,)


def test_many_programmes_end_in_one_go(book: Store) -> None:
    with book.write() as connection:
        end_programmes(connection, [Ending(PROGRAMME.key, ProgrammeState.FINISHED, "three years are over")])
        end_programmes(connection, [])
        finished = replace(PROGRAMME, state=ProgrammeState.FINISHED, reason="three years are over")
        assert load_programmes(connection, states=[ProgrammeState.FINISHED]) == (finished,)


def test_visits_come_back_whole_and_keep_every_revision(book: Store) -> None:
    with book.write() as connection:
        save_visits(connection, [SURVEY, COUNT])
    with book.write() as connection:
        save_visits(connection, [BOOKED])
    with book.read() as connection:
        assert load_visits(connection) == (BOOKED, COUNT)
        assert find_visit(connection, SURVEY.key) == BOOKED
        assert load_changes(connection, SURVEY.key) == (
            VisitChange(1, VisitState.OWED, None, "a new lawn is surveyed first", NOW),
            VisitChange(2, VisitState.BOOKED, date(2027, 8, 26), "the first day with room", LATER),
        )


def test_a_visit_made_and_booked_at_once_keeps_both_revisions(book: Store) -> None:
    with book.write() as connection:
        save_visits(connection, [SURVEY, BOOKED])
        assert load_visits(connection) == (BOOKED,)
        assert [change.revision for change in load_changes(connection, SURVEY.key)] == [1, 2]


def test_a_visit_put_back_still_knows_the_last_day_it_had(book: Store) -> None:
    moved = replace(BOOKED, day=date(2027, 8, 30), revision=3)
    put_back = replace(SURVEY, revision=4, reason="not attended on 30 August: the gate was locked")
    with book.write() as connection:
        save_visits(connection, [SURVEY, BOOKED, moved, put_back, COUNT])
        assert last_days(connection, [SURVEY.key, COUNT.key]) == {SURVEY.key: date(2027, 8, 30)}
        assert last_days(connection, []) == {}


def test_a_change_without_a_new_revision_is_refused(book: Store) -> None:
    with book.write() as connection:
        save_visits(connection, [SURVEY])
    with pytest.raises(IntegrityError), book.write() as connection:
        save_visits(connection, [replace(BOOKED, revision=1)])
    with book.read() as connection:
        assert load_visits(connection) == (SURVEY,)


def test_visits_are_chosen_by_state_programme_and_day(book: Store) -> None:
    done = replace(BOOKED, state=VisitState.DONE, revision=3, changed_at=LATER)
    with book.write() as connection:
        save_visits(connection, [COUNT, done])
        assert load_visits(connection, open_only=True) == (COUNT,)
        assert load_visits(connection, day_from=date(2027, 8, 26)) == (done,)
        assert load_visits(connection, day_from=date(2027, 8, 27)) == ()
        assert load_visits(connection, programme_keys=["another"]) == ()
        assert load_visits(connection, programme_keys=[PROGRAMME.key]) == (done, COUNT)


def test_only_visits_of_running_programmes_are_planned(book: Store) -> None:
    with book.write() as connection:
        save_visits(connection, [SURVEY])
        assert load_running_visits(connection) == (SURVEY,)
        end_programme(connection, PROGRAMME.key, ProgrammeState.ENDED, "the client moved house")
        assert load_running_visits(connection) == ()


def test_a_visit_nobody_knows_is_named(book: Store) -> None:
    with (
        book.read() as connection,
        pytest.raises(NotFound, match="visit 'oat/nothing' is not known: take its key from the season page"),
    ):
        find_visit(connection, "oat/nothing")
