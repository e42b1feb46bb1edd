"""Clients say that they watered; nonsense is refused and changes nothing."""

from __future__ import annotations

import math
from datetime import date, timedelta

import pytest

from models.errors import NotFound, RefusedInput
from models.facts.work import Watering
from models.store.engine import Store
from models.store.watering import load_waterings
from scheduler.entries.watered import watered
from tests.windows.book import a_lawn, morning_of, write_book

TODAY = date(2027, 5, 7)
NOW = morning_of(TODAY)
LATER = NOW + timedelta(hours=3)
OAT = a_lawn("oat")


@pytest.fixture
def book(store: Store) -> Store:
    write_book(store, [OAT], date(2027, 1, 4))
    return store


def kept(store: Store) -> tuple[Watering, ...]:
    with store.read() as connection:
        return load_waterings(connection, date(2027, 1, 1))


def test_water_is_kept_with_its_day(book: Store) -> None:
    watered(book, OAT.key, TODAY, 6.0, NOW)
    watered(book, OAT.key, TODAY - timedelta(days=14), 50.0, NOW)
    assert kept(book) == (
        Watering(OAT.key, TODAY - timedelta(days=14), 50.0, NOW),
        Watering(OAT.key, TODAY, 6.0, NOW),
    )


def test_told_twice_is_told_once_and_the_last_word_counts(book: Store) -> None:
    watered(book, OAT.key, TODAY, 6.0, NOW)
    watered(book, OAT.key, TODAY, 6.0, LATER)
    assert kept(book) == (Watering(OAT.key, TODAY, 6.0, NOW),)
    watered(book, OAT.key, TODAY, 8.0, LATER)
    assert kept(book) == (Watering(OAT.key, TODAY, 8.0, LATER),)


@pytest.mark.parametrize("depth_mm", [0.0, -1.0, 50.5, math.nan, math.inf])
def test_an_impossible_depth_is_refused(book: Store, depth_mm: float) -> None:
    with pytest.raises(RefusedInput, match="give a depth above 0 and at most 50 mm"):
        watered(book, OAT.key, TODAY, depth_mm, NOW)
    assert kept(book) == ()


@pytest.mark.parametrize("day", [date(2027, 5, 8), date(2027, 4, 22)])
def test_a_day_ahead_or_long_past_is_refused(book: Store, day: date) -> None:
    with pytest.raises(RefusedInput) as refused:
        watered(book, OAT.key, day, 6.0, NOW)
    assert str(refused.value) == (
        "watering of oat/lawn: refused, nothing was changed. 1 fault(s):\n"
        f"  day: {day} - give a day from 14 days ago to today, 2027-05-07"
    )
    assert kept(book) == ()


def test_both_faults_are_told_at_once(book: Store) -> None:
    with pytest.raises(RefusedInput) as refused:
        watered(book, OAT.key, date(2028, 1, 1), 0.0, NOW)
    assert [fault.where for fault in refused.value.faults] == ["depth", "day"]


def test_a_lawn_that_is_not_known_is_said(book: Store) -> None:
    with pytest.raises(NotFound, match="lawn 'nowhere' is not known"):
        watered(book, "nowhere", TODAY, 6.0, NOW)
