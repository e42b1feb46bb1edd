"""Weather and soil rows on SQLite and PostgreSQL: append-only, best first, as known at an instant."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest

from models.agronomy.soil import SoilState, advance
from models.facts.weather import KnownWeatherDay, Provenance, SoilDay, WeatherDay
from models.store.engine import Store
from models.store.soil import KeptSoil, last_soil_days, load_soil_days, load_soil_states, save_soil
from models.store.weather import (
    WeatherNews,
    all_news,
    append_weather,
    last_weather_day,
    load_weather,
    load_weather_of,
    news_since_seen,
)
from scheduler.weather.gaps import as_known, complete
from tests.weather.places import HILL, VALLEY, days_from, invented, set_up

FIRST = date(2024, 3, 1)
SECOND, THIRD = FIRST + timedelta(1), FIRST + timedelta(2)
EARLY = datetime(2024, 3, 4, 4, 30, tzinfo=UTC)
LATER = datetime(2024, 3, 5, 4, 30, tzinfo=UTC)

A_DAY = WeatherDay(FIRST, 2.5, 9.5, 0.4, 3.25, 6.5, Provenance.MEASURED, "station-file valley")
MODELLED = replace(A_DAY, temperature_max_c=11.0, provenance=Provenance.MODELLED, source="a model")
FORECAST = replace(A_DAY, temperature_max_c=12.0, provenance=Provenance.FORECAST, source="a forecast")


def append(store: Store, known_at: datetime, *days: WeatherDay, site: str = "valley") -> int:
    with store.write() as connection:
        return append_weather(connection, site, days, known_at)


def load(store: Store, known_at: datetime = LATER) -> tuple[KnownWeatherDay, ...]:
    with store.read() as connection:
        return load_weather(connection, "valley", FIRST, THIRD, known_at)


def test_what_was_appended_is_loaded(store: Store) -> None:
    set_up(store, VALLEY, HILL)
    bare = WeatherDay(THIRD, None, None, None)
    assert append(store, EARLY, bare, A_DAY) == 2
    assert append(store, EARLY, replace(A_DAY, rain_mm=8.0), site="hill") == 1
    assert load(store) == (KnownWeatherDay(A_DAY, 1, EARLY), KnownWeatherDay(bare, 1, EARLY))


def test_the_same_again_appends_nothing(store: Store) -> None:
    set_up(store, VALLEY)
    append(store, EARLY, A_DAY)
    assert append(store, LATER, A_DAY) == 0
    assert append(store, LATER) == 0
    assert load(store) == (KnownWeatherDay(A_DAY, 1, EARLY),)


def test_a_correction_is_a_new_revision_and_the_past_stays_what_it_was(store: Store) -> None:
    set_up(store, VALLEY)
    corrected = replace(A_DAY, rain_mm=12.5)
    append(store, EARLY, A_DAY)
    assert append(store, LATER, corrected) == 1
    assert load(store, known_at=EARLY) == (KnownWeatherDay(A_DAY, 1, EARLY),)
    assert load(store, known_at=LATER) == (KnownWeatherDay(corrected, 2, LATER),)
    assert append(store, LATER + timedelta(1), A_DAY) == 1
    assert load(store, known_at=LATER + timedelta(1))[0].revision == 3


@pytest.mark.parametrize(
    ("stored", "best"),
    [
        ([FORECAST, MODELLED, A_DAY], A_DAY),
        ([A_DAY, MODELLED, FORECAST], A_DAY),
        ([FORECAST, MODELLED], MODELLED),
        ([FORECAST], FORECAST),
        ([replace(A_DAY, rain_mm=None), MODELLED], MODELLED),
        ([replace(A_DAY, rain_mm=None), replace(MODELLED, rain_mm=None)], replace(A_DAY, rain_mm=None)),
        ([replace(A_DAY, rain_mm=None), FORECAST], replace(A_DAY, rain_mm=None)),
    ],
)
def test_the_kinds_are_kept_apart_and_the_best_is_loaded(
    sqlite_store: Store, stored: list[WeatherDay], best: WeatherDay
) -> None:
    set_up(sqlite_store, VALLEY)
    assert append(sqlite_store, EARLY, *stored) == len(stored)
    assert load(sqlite_store) == (KnownWeatherDay(best, 1, EARLY),)


def test_the_last_day_is_the_last_measured_one(store: Store) -> None:
    set_up(store, VALLEY)
    with store.read() as connection:
        assert last_weather_day(connection, "valley") is None
    append(store, EARLY, replace(MODELLED, day=SECOND), replace(FORECAST, day=THIRD))
    with store.read() as connection:
        assert last_weather_day(connection, "valley") == SECOND
    append(store, EARLY, A_DAY)
    with store.read() as connection:
        assert last_weather_day(connection, "valley") == FIRST


def test_news_is_what_the_kept_soil_has_not_seen(store: Store) -> None:
    set_up(store, VALLEY, HILL)
    append(store, EARLY, A_DAY, replace(A_DAY, day=SECOND))
    append(store, LATER, replace(A_DAY, day=SECOND, rain_mm=1.0), replace(A_DAY, day=THIRD))
    append(store, LATER, A_DAY, site="hill")
    keep_soil(store, seen_at=EARLY)
    with store.read() as connection:
        assert all_news(connection, ["valley"], THIRD, LATER) == {"valley": WeatherNews(FIRST, LATER)}
        assert all_news(connection, ["valley"], THIRD, EARLY) == {"valley": WeatherNews(FIRST, EARLY)}
        assert news_since_seen(connection, THIRD, LATER) == {"valley": WeatherNews(SECOND, LATER)}
        assert news_since_seen(connection, FIRST, LATER) == {}
        assert news_since_seen(connection, THIRD, EARLY) == {}
    keep_soil(store, seen_at=LATER)
    with store.read() as connection:
        assert news_since_seen(connection, THIRD, LATER) == {}


def keep_soil(store: Store, seen_at: datetime, fingerprint: str = "here") -> SoilState:
    used = complete(as_known(invented(days_from(FIRST, 1)), EARLY), FIRST, FIRST)
    _, state = advance(None, used, VALLEY.position.latitude)
    with store.write() as connection:
        save_soil(connection, "valley", (), state, seen_at, fingerprint)
    return state


def test_a_state_kept_elsewhere_or_by_other_laws_is_not_given(store: Store) -> None:
    set_up(store, VALLEY)
    state = keep_soil(store, EARLY, "here")
    with store.read() as connection:
        assert load_soil_states(connection, {"valley": "here"}) == {"valley": KeptSoil(state, EARLY, "here")}
        assert load_soil_states(connection, {"valley": "there", "hill": "here"}) == {}


def test_many_sites_come_each_from_its_own_day(store: Store) -> None:
    """The last two lie close enough to be read together, the first does not."""
    set_up(store, VALLEY, HILL, replace(HILL, key="moor"))
    days = invented(days_from(date(2023, 1, 1), 420))
    begins = {"hill": days[5].day, "moor": days[300].day, "valley": days[310].day}
    for site in begins:
        append(store, EARLY, *days, site=site)
    with store.read() as connection:
        found = load_weather_of(connection, begins, days[-1].day, EARLY)
    assert {key: tuple(one.weather for one in its) for key, its in found.items()} == {
        "hill": days[5:],
        "moor": days[300:],
        "valley": days[310:],
    }


def test_twelve_years_of_two_sites_come_back_as_they_were(store: Store) -> None:
    set_up(store, VALLEY, HILL)
    days = invented(days_from(date(2012, 1, 1), 4383))
    with store.write() as connection:
        rows = [append_weather(connection, key, days, EARLY) for key in ("valley", "hill")]
    assert rows == [4383, 4383]
    with store.read() as connection:
        loaded = load_weather(connection, "hill", days[0].day, days[-1].day, EARLY)
    assert tuple(one.weather for one in loaded) == days


def test_soil_comes_back_bit_for_bit(store: Store) -> None:
    set_up(store, VALLEY, HILL)
    used = complete(as_known(invented(days_from(FIRST, 3)), EARLY), FIRST, THIRD)
    _, state = advance(None, used, VALLEY.position.latitude)
    days = tuple(
        SoilDay(one.day, 7.1234567890123, 0.9, 1.7, 0.25, -0.5, Provenance.MEASURED, 2, n, 2 * n)
        for n, one in enumerate(used)
    )
    with store.write() as connection:
        save_soil(connection, "valley", days[:2], state, EARLY)
        save_soil(connection, "valley", (replace(days[1], sd_c=2.0), days[2]), state, LATER)
    with store.read() as connection:
        assert load_soil_states(connection, {"valley": "", "hill": ""}) == {
            "valley": KeptSoil(state, LATER, "")
        }
        assert last_soil_days(connection) == {"valley": THIRD}
        assert load_soil_days(connection, ["valley", "hill"], FIRST, THIRD) == {
            "valley": (days[0], replace(days[1], sd_c=2.0), days[2]),
            "hill": (),
        }
        assert load_soil_days(connection, [], FIRST, THIRD) == {}
