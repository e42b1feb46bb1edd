"""What a lawn's own soil rests on, out of the records: known by then, around its days, in few queries."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest
from sqlalchemy import event

from models.facts.place import Shade, Texture
from models.facts.readings import LawnSoil, OwnGround, Reading
from models.facts.weather import Provenance, WeatherDay
from models.store.engine import Store
from models.store.people import load_lawns
from models.store.readings import OLDEST, add_reading, load_own_grounds, load_readings
from models.store.weather import append_weather
from tests.windows.book import a_lawn, morning_of, write_book, write_soil
from tests.windows.soil import between, steady_soil

OAT, RYE = a_lawn("oat"), a_lawn("rye")
SHADY = replace(a_lawn("fern", texture=Texture.CLAY), shade=Shade.SHADED)
HILL = a_lawn("sedge", site_key="hill")
SOIL = steady_soil(date(2027, 1, 1), date(2027, 6, 1))
NOW = morning_of(date(2027, 5, 30))


def a_reading(lawn_key: str, day: date, known_after_h: int = 3) -> Reading:
    taken_at = datetime(day.year, day.month, day.day, 10, 15, tzinfo=UTC)
    later = taken_at + timedelta(hours=known_after_h)
    return Reading(lawn_key, taken_at, day, 10.0, 11.5, False, recorded_at=later)


FEBRUARY, MAY = date(2027, 2, 20), date(2027, 5, 20)
FIRST, SECOND = a_reading(OAT.key, FEBRUARY), a_reading(OAT.key, MAY)


@pytest.fixture
def book(store: Store) -> Store:
    write_book(store, [OAT, RYE, SHADY, HILL], date(2026, 12, 1))
    for site in ("vale", "hill"):
        write_soil(store, site, SOIL)
    with store.write() as connection:
        for reading in (SECOND, FIRST):
            add_reading(connection, reading)
        append_weather(connection, "vale", [WeatherDay(FEBRUARY, 2.0, 9.0, 0.0)], morning_of(MAY))
    return store


def test_readings_come_back_whole_and_in_order_of_time(book: Store) -> None:
    with book.read() as connection:
        assert load_readings(connection, OAT.key) == (FIRST, SECOND)
        assert load_readings(connection, RYE.key) == ()


def test_a_second_word_on_the_same_instant_changes_nothing(book: Store) -> None:
    with book.write() as connection:
        assert add_reading(connection, replace(FIRST, value_c=3.0)) == 0
        assert load_readings(connection, OAT.key)[0] == FIRST


def test_only_lawns_of_their_own_are_given_with_what_they_rest_on(book: Store) -> None:
    around = (
        *between(SOIL, FEBRUARY - timedelta(days=20), FEBRUARY),
        *between(SOIL, MAY - timedelta(days=20), MAY),
    )
    with book.read() as connection:
        found = load_own_grounds(connection, NOW)
    oat = OwnGround(LawnSoil(Texture.LOAM, -6.4), (FIRST, SECOND), around, {FEBRUARY: 7.0})
    assert found[OAT.key] == oat
    assert found[SHADY.key].readings == ()
    assert found[SHADY.key].lawn == LawnSoil(Texture.CLAY, -6.4, Shade.SHADED)
    assert sorted(found) == sorted([OAT.key, SHADY.key])


def test_a_reading_counts_from_when_it_was_recorded(book: Store) -> None:
    late = a_reading(RYE.key, date(2027, 5, 1), known_after_h=24 * 20)
    with book.write() as connection:
        add_reading(connection, late)
        before = load_own_grounds(connection, late.recorded_at - timedelta(seconds=1), [RYE.key])
        after = load_own_grounds(connection, late.recorded_at, [RYE.key])
    assert (before, after[RYE.key].readings) == ({}, (late,))


def test_readings_fade_out_of_the_reckoning(book: Store) -> None:
    with book.read() as connection:
        found = load_own_grounds(connection, SECOND.taken_at + OLDEST - timedelta(days=30), [OAT.key])
    assert found[OAT.key].readings == (SECOND,)


def test_ranges_are_of_the_best_record_known_and_never_of_a_forecast(book: Store) -> None:
    def told(least_c: float, most_c: float, provenance: Provenance) -> WeatherDay:
        return WeatherDay(MAY, least_c, most_c, 0.0, provenance=provenance)

    with book.write() as connection:
        append_weather(connection, "vale", [told(0.0, 30.0, Provenance.FORECAST)], morning_of(MAY))
        append_weather(connection, "vale", [told(5.0, 15.0, Provenance.MEASURED)], morning_of(MAY))
        append_weather(connection, "vale", [told(5.0, 18.0, Provenance.MODELLED)], NOW)
        append_weather(connection, "vale", [told(5.0, 16.0, Provenance.MEASURED)], NOW)
        then, now = (
            load_own_grounds(connection, at, [OAT.key])[OAT.key].ranges_c[MAY]
            for at in (NOW - timedelta(hours=1), NOW)
        )
    assert (then, now) == (10.0, 11.0)


def test_many_lawns_take_no_more_queries_than_one(book: Store) -> None:
    def statements() -> int:
        said: list[str] = []
        event.listen(book.engine, "before_cursor_execute", lambda *words: said.append(words[2]))
        with book.read() as connection:
            load_own_grounds(connection, NOW)
        return len(said)

    few = statements()
    with book.write() as connection:
        for lawn in (RYE, HILL):
            add_reading(connection, a_reading(lawn.key, FEBRUARY))
            add_reading(connection, a_reading(lawn.key, MAY))
    assert statements() == few


def test_shade_comes_back(book: Store) -> None:
    with book.read() as connection:
        shades = {lawn.key: lawn.shade for lawn in load_lawns(connection)}
    assert shades == {
        OAT.key: Shade.OPEN,
        RYE.key: Shade.OPEN,
        SHADY.key: Shade.SHADED,
        HILL.key: Shade.OPEN,
    }
