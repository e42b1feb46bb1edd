"""Forecasts through the real library in its child process, against a server on loopback."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import replace
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from models.errors import WeatherUnavailable
from models.facts.place import Position, Site
from models.facts.step import Outcome
from models.facts.weather import Provenance, WeatherCredit, WeatherDay
from models.store.credits import load_credits
from models.store.engine import Store
from models.store.weather import load_weather
from scheduler.steps.weather import FetchWeather
from scheduler.weather.forecast_source import ForecastSource
from scheduler.weather.source import WeatherAnswer
from tests.weather.meteostat_server import LoopbackServer, serving
from tests.weather.places import days_from, invented, morning, set_up
from tests.weather.test_fetch_step import Teller

TODAY = date(2024, 3, 4)
NOW = morning(TODAY)
FJORD = Site("fjord", "Fjord", Position(52.312345, -6.5), 62.0, "teller")
PATH = "/forecast?lat=52.3123&lon=-6.5&altitude=62"
CONTACT = "Swardtide (office@tarnwhistle.example)"


def a_step(moment: datetime, air_c: float, rain_mm: float | None) -> dict[str, Any]:
    """One step as the service writes it: locationforecast 2.0, compact (api.met.no; from memory)."""
    data: dict[str, Any] = {"instant": {"details": {"air_temperature": air_c, "wind_speed": 5.0}}}
    if rain_mm is not None:
        data["next_1_hours"] = {"details": {"precipitation_amount": rain_mm}, "summary": {}}
    return {"time": f"{moment:%Y-%m-%dT%H:%M:%SZ}", "data": data}


def a_forecast(*steps: dict[str, Any]) -> bytes:
    return json.dumps({"properties": {"timeseries": steps}}).encode()


def hours(first: datetime, count: int) -> list[dict[str, Any]]:
    """Colder by night, warmest at 14; half a millimetre in each of the first hours."""
    moments = [first + timedelta(hours=n) for n in range(count)]
    return [a_step(one, 10 - abs(one.hour - 14) / 2, 0.5) for one in moments]


def six_hours(first: datetime, count: int) -> list[dict[str, Any]]:
    moments = [first + timedelta(hours=6 * n) for n in range(count)]
    return [a_step(one, 8 + one.hour / 6, None) for one in moments]


# From four in the morning for 44 hours by the hour, then by six.
FORECAST = a_forecast(
    *hours(datetime(2024, 3, 4, 4), 44),  # noqa: DTZ001
    *six_hours(datetime(2024, 3, 6, 0), 5),  # noqa: DTZ001
)


def forecast(day: int, least: float, most: float, rain: float | None) -> WeatherDay:
    return WeatherDay(
        date(2024, 3, day),
        least,
        most,
        rain,
        wind_m_s=5.0,
        provenance=Provenance.FORECAST,
        source="met-norway-forecast",
    )


# Rain of an hour is told at its beginning and counted at its end, so the first hour has none. At 4 it is
# 10 - 10/2 = 5 °C, at 0 it is 10 - 14/2 = 3 °C, at 14 it is 10 °C; six-hour steps: 8 + hour/6 from 0 to 18.
AHEAD = (forecast(4, 5.0, 10.0, 9.5), forecast(5, 3.0, 10.0, 12.0), forecast(6, 8.0, 11.0, None))


@pytest.fixture
def server() -> Iterator[LoopbackServer]:
    with serving({PATH: FORECAST}) as started:
        yield started


def source(server: LoopbackServer, tmp_path: Path, timeout_s: float = 60.0) -> ForecastSource:
    endpoint = f"{server.address}/forecast?lat={{latitude}}&lon={{longitude}}&altitude={{elevation}}"
    return ForecastSource(tmp_path / "cache", CONTACT, timeout_s, endpoint)


def fetch(server: LoopbackServer, tmp_path: Path, site: Site = FJORD) -> WeatherAnswer:
    return source(server, tmp_path).fetch(site, TODAY, TODAY + timedelta(days=8), NOW)


def test_whole_days_come_as_forecast_with_their_credit(server: LoopbackServer, tmp_path: Path) -> None:
    """Licence as the library names it: https://data.norge.no/nlod/en/2.0."""
    credit = WeatherCredit(
        "met-norway-forecast", "MET Norway", "NLOD 2.0", "https://data.norge.no/nlod/en/2.0"
    )
    assert fetch(server, tmp_path) == WeatherAnswer(AHEAD, (credit,))


def test_the_service_is_told_who_asks_and_where_no_closer_than_it_wants(
    server: LoopbackServer, tmp_path: Path
) -> None:
    fetch(server, tmp_path)
    assert (server.asked, server.user_agents) == ([PATH], [CONTACT])


def test_a_site_without_a_height_leaves_it_to_the_service(server: LoopbackServer, tmp_path: Path) -> None:
    server.files[PATH.removesuffix("&altitude=62")] = FORECAST
    assert fetch(server, tmp_path, replace(FJORD, elevation_m=0.0)).days == AHEAD


def test_a_day_is_the_suns_day_of_the_place(server: LoopbackServer, tmp_path: Path) -> None:
    """At 150 degrees east the sun is ten hours ahead of Greenwich (15 degrees an hour)."""
    server.files["/forecast?lat=52.3123&lon=150.0&altitude=62"] = FORECAST
    east = replace(FJORD, position=Position(52.312345, 150.0))
    days = [day.day for day in fetch(server, tmp_path, east).days]
    assert days == [date(2024, 3, 5), date(2024, 3, 6)]


@pytest.mark.parametrize(
    ("content", "what"),
    [
        (b"<html>Come back later</html>", "unknown: "),
        (a_forecast(), "unknown: "),
        (a_forecast(*hours(datetime(2024, 3, 4, 10), 6)), "unknown: no whole day in what was forecast"),  # noqa: DTZ001
    ],
)
def test_what_is_no_forecast_is_unknown(
    server: LoopbackServer, tmp_path: Path, content: bytes, what: str
) -> None:
    server.files[PATH] = content
    with pytest.raises(WeatherUnavailable, match=what):
        fetch(server, tmp_path)


@pytest.mark.parametrize("fault", ["broken", "cut_off", "silent"])
def test_no_answer_is_unknown(server: LoopbackServer, tmp_path: Path, fault: str) -> None:
    getattr(server, fault).add(PATH)
    with pytest.raises(WeatherUnavailable, match=r"met-norway-forecast: (unknown: |no answer in 8 s)"):
        source(server, tmp_path, timeout_s=8.0).fetch(FJORD, TODAY, TODAY, NOW)


MEASURED = invented(days_from(date(2024, 3, 1), 3))
OWN_WORD = replace(MEASURED[0], day=date(2024, 3, 5), provenance=Provenance.FORECAST)


def fetching(store: Store, server: LoopbackServer, tmp_path: Path) -> FetchWeather:
    set_up(store, FJORD)
    return FetchWeather(store, {"teller": Teller((*MEASURED, OWN_WORD))}, source(server, tmp_path))


def test_the_step_keeps_it_beside_what_is_measured(
    store: Store, server: LoopbackServer, tmp_path: Path
) -> None:
    """Where the site's own source forecasts the same day, the word of the forecasts is the one kept."""
    step = fetching(store, server, tmp_path)
    assert step.run(NOW) == Outcome(6)
    assert step.run(NOW) == Outcome(0)
    with store.read() as connection:
        known = load_weather(connection, "fjord", date(2024, 3, 1), date(2024, 3, 9), NOW)
        assert [credit.attribution for credit in load_credits(connection)["fjord"]] == ["MET Norway"]
    assert tuple(one.weather for one in known) == MEASURED + AHEAD


def test_a_day_that_was_forecast_is_measured_in_its_time(
    sqlite_store: Store, server: LoopbackServer, tmp_path: Path
) -> None:
    fetching(sqlite_store, server, tmp_path).run(NOW)
    measured = invented([TODAY])
    later = morning(TODAY + timedelta(days=1))
    FetchWeather(sqlite_store, {"teller": Teller(measured)}).run(later)
    with sqlite_store.read() as connection:
        known = load_weather(connection, "fjord", TODAY, TODAY, later)
    assert tuple(one.weather for one in known) == measured


def test_without_an_answer_the_sites_own_word_stands(
    sqlite_store: Store, server: LoopbackServer, tmp_path: Path
) -> None:
    server.broken.add(PATH)
    outcome = fetching(sqlite_store, server, tmp_path).run(NOW)
    assert outcome.changed == 4
    assert len(outcome.said) == 1
    assert outcome.said[0].startswith("Fjord: no new forecast. met-norway-forecast: unknown: ")
