"""The watering step on real records: each morning once, advice and its message together."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from models.facts.place import ClientState, Lawn
from models.facts.post import Message, MessageKind
from models.facts.season import Season, SeasonName, Span
from models.facts.step import Outcome
from models.facts.work import Treatment, Visit, VisitKind, VisitState, WateringDay
from models.store.engine import Store
from models.store.people import set_client_state
from models.store.post import load_messages
from models.store.visits import save_visits
from models.store.watering import load_watering_days, save_watering_days
from models.store.work import add_treatment
from scheduler.entries.watered import watered
from scheduler.steps.watering import AdviseWatering
from tests.watering.fortnight import TREATED, TREATMENT
from tests.windows.book import a_lawn, a_programme, morning_of, write_book, write_soil
from tests.windows.soil import steady_soil

DAY = timedelta(days=1)
SPRING = Season(2027, SeasonName.SPRING)
OAT, RYE = a_lawn("oat"), a_lawn("rye")
FIFTH = TREATED + 4 * DAY
JOINED = TREATED - 100 * DAY


def treat(store: Store, lawn: Lawn) -> Treatment:
    """A treatment visit that was done on `TREATED`."""
    programme = a_programme(lawn, JOINED)
    visit = Visit(
        key=Visit.key_for(programme.key, SPRING, VisitKind.TREATMENT),
        programme_key=programme.key,
        lawn_key=lawn.key,
        season=SPRING,
        kind=VisitKind.TREATMENT,
        allowed=Span(TREATED, TREATED),
        minutes=44,
        packs=3,
        state=VisitState.DONE,
        day=TREATED,
        revision=1,
        reason="treated",
        changed_at=morning_of(TREATED),
    )
    treatment = replace(TREATMENT, visit_key=visit.key, lawn_key=lawn.key)
    with store.write() as connection:
        save_visits(connection, [visit])
        add_treatment(connection, treatment)
    return treatment


@pytest.fixture
def book(store: Store) -> Store:
    """Two treated lawns on a site that sees no rain; 1.7 mm a day are drawn."""
    write_book(store, [OAT, RYE], JOINED)
    for lawn in (OAT, RYE):
        treat(store, lawn)
    dry = {day: {"rain_mm": 0.0} for day in Span(TREATED, TREATED + 20 * DAY).days()}
    write_soil(store, "vale", steady_soil(TREATED - DAY, TREATED + 20 * DAY, changes=dry))
    return store


def asked(store: Store) -> list[Message]:
    with store.read() as connection:
        return [kept.message for kept in load_messages(connection)]


def mornings(store: Store) -> tuple[WateringDay, ...]:
    with store.read() as connection:
        return load_watering_days(connection, TREATED)


def test_a_dry_fortnight_is_judged_each_morning_and_asks_when_half_is_gone(book: Store) -> None:
    step = AdviseWatering(book)
    outcomes = [step.run(morning_of(TREATED + n * DAY)) for n in range(5)]
    assert outcomes == [
        Outcome(0),
        Outcome(2),
        Outcome(2),
        Outcome(2),
        Outcome(2, ("2 clients are asked to water",)),
    ]
    assert [(day.day, day.advice_mm) for day in mornings(book) if day.lawn_key == OAT.key] == [
        (TREATED + DAY, 0.0),
        (TREATED + 2 * DAY, 0.0),
        (TREATED + 3 * DAY, 0.0),
        (FIFTH, pytest.approx(5.1)),
    ]
    messages = asked(book)
    assert [(message.key, message.kind, message.recipient) for message in messages] == [
        (f"watering:{day.visit_key}:{FIFTH}", MessageKind.WATER_TODAY, day.lawn_key.split("/")[0])
        for day in mornings(book)[-2:]
    ]
    # 04:30 in Dublin is too early for mail: 07:00 there is 06:00 UTC in summer.
    assert messages[0].not_before == datetime(2027, 5, 7, 6, 0, tzinfo=UTC)
    assert (messages[0].payload["advice_litres"], messages[0].payload["last_rain_on"]) == (
        pytest.approx(765.0),
        None,
    )


def test_run_again_it_changes_nothing_even_when_water_was_given_meanwhile(book: Store) -> None:
    step = AdviseWatering(book)
    step.run(morning_of(FIFTH))
    before, messages = mornings(book), asked(book)
    watered(book, OAT.key, FIFTH - DAY, 8.0, morning_of(FIFTH))
    assert step.run(morning_of(FIFTH) + timedelta(hours=8)) == Outcome(0)
    assert (mornings(book), asked(book)) == (before, messages)


def test_a_client_who_watered_is_not_asked(book: Store) -> None:
    watered(book, OAT.key, FIFTH - DAY, 6.0, morning_of(FIFTH))
    AdviseWatering(book).run(morning_of(FIFTH))
    assert [message.recipient for message in asked(book)] == ["rye"]
    assert mornings(book)[0].watered_mm == 6.0


def test_a_client_who_left_is_not_asked(book: Store) -> None:
    with book.write() as connection:
        assert set_client_state(connection, "oat", ClientState.LEFT)
    assert AdviseWatering(book).run(morning_of(FIFTH)).changed == 1
    assert [message.recipient for message in asked(book)] == ["rye"]


def test_rain_that_did_it_leaves_the_client_in_peace(book: Store) -> None:
    write_soil(book, "vale", steady_soil(FIFTH - DAY, FIFTH - DAY, changes={FIFTH - DAY: {"rain_mm": 12.0}}))
    AdviseWatering(book).run(morning_of(FIFTH))
    assert asked(book) == []
    assert {day.deficit_mm for day in mornings(book)} == {0.0}


def test_after_the_fortnight_nobody_is_asked(book: Store) -> None:
    step = AdviseWatering(book)
    assert step.run(morning_of(TREATED + 14 * DAY)).changed == 2
    assert step.run(morning_of(TREATED + 15 * DAY)) == Outcome(0)


def test_a_morning_comes_back_as_it_was_kept_and_is_kept_once(book: Store) -> None:
    AdviseWatering(book).run(morning_of(FIFTH))
    kept = mornings(book)
    with book.write() as connection:
        assert save_watering_days(connection, [replace(day, advice_mm=1.0) for day in kept]) == 0
    assert mornings(book) == kept
