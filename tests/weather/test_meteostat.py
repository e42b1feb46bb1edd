"""The real meteostat library in its child process, against a server on loopback."""

from __future__ import annotations

import socket
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from models.errors import WeatherUnavailable
from models.facts.place import Position, Site
from models.facts.weather import Provenance, WeatherDay
from models.store.engine import Store
from models.store.weather import load_weather
from scheduler.steps.weather import FetchWeather
from scheduler.weather.meteostat_source import MeteostatSource
from tests.weather.meteostat_server import LoopbackServer, a_daily_file, a_station_list, serving
from tests.weather.places import morning, set_up

NEAR, FAR = "XS001", "XS002"
STATIONS = {FAR: (52.6, -6.25, 62), NEAR: (52.31, -6.51, 62)}
FJORD = Site("fjord", "Fjord", Position(52.3, -6.5), 62.0, "meteostat", NEAR)
NOW = datetime(2024, 3, 4, 4, 30, tzinfo=UTC)
FIRST, LAST = date(2024, 3, 1), date(2024, 3, 6)

AT_NEAR, AT_FAR = f"meteostat {NEAR} (1 km away)", f"meteostat {FAR} (37 km away)"

# Sources are the library's own names: ghcnd observes, the other two are forecast models.
MEASURED_LINES = (
    "2024,3,1,6,ghcnd,2.1,ghcnd,9.4,ghcnd,0.6,ghcnd,18,ghcnd,150,ghcnd",
    "2024,3,2,6,ghcnd,3.1,ghcnd,10.4,ghcnd,,,,,,",
)
MIXED_LINES = (
    "2024,3,3,7,ghcnd,4.1,ghcnd,11.4,ghcnd,1.2,dwd_mosmix,36,dwd_mosmix,,",
    "2024,3,4,7,metno_forecast,5.1,metno_forecast,12.4,metno_forecast,0,metno_forecast,,,,",
)
THE_MEASURED = (
    WeatherDay(date(2024, 3, 1), 2.1, 9.4, 0.6, 5.0, 2.5, Provenance.MEASURED, AT_NEAR),
    WeatherDay(date(2024, 3, 2), 3.1, 10.4, None, None, None, Provenance.MEASURED, AT_NEAR),
)
THE_MIXED = (
    WeatherDay(date(2024, 3, 3), 4.1, 11.4, None, None, None, Provenance.MEASURED, AT_NEAR),
    WeatherDay(date(2024, 3, 3), 4.1, 11.4, 1.2, 10.0, None, Provenance.MODELLED, AT_NEAR),
    WeatherDay(date(2024, 3, 4), 5.1, 12.4, 0.0, None, None, Provenance.FORECAST, AT_NEAR),
)


def daily_path(station: str, year: int = 2024) -> str:
    return f"/daily/{year}/{station}.csv.gz"


@pytest.fixture
def server(tmp_path: Path) -> Iterator[LoopbackServer]:
    files = {
        "/stations.db": a_station_list(tmp_path / "list.db", STATIONS),
        daily_path(NEAR): a_daily_file(*MEASURED_LINES),
    }
    with serving(files) as started:
        yield started


def source(address: str, tmp_path: Path, timeout_s: float = 60.0) -> MeteostatSource:
    return MeteostatSource(
        tmp_path / "cache",
        timeout_s,
        f"{address}/stations.db",
        f"{address}/daily/{{year}}/{{station}}.csv.gz",
    )


def fetch(server: LoopbackServer, tmp_path: Path, site: Site = FJORD) -> tuple[WeatherDay, ...]:
    return source(server.address, tmp_path).fetch(site, FIRST, LAST, NOW).days


def refusal(server: LoopbackServer, tmp_path: Path, site: Site = FJORD) -> str:
    with pytest.raises(WeatherUnavailable) as refused:
        fetch(server, tmp_path, site)
    return str(refused.value)


def test_measured_days_come_in_our_units(server: LoopbackServer, tmp_path: Path) -> None:
    """18 km/h is 5 m/s; 150 minutes of sun are 2.5 h."""
    assert fetch(server, tmp_path) == THE_MEASURED


def test_what_a_model_said_is_kept_apart(server: LoopbackServer, tmp_path: Path) -> None:
    server.files[daily_path(NEAR)] = a_daily_file(*MEASURED_LINES, *MIXED_LINES)
    assert fetch(server, tmp_path) == THE_MEASURED + THE_MIXED


def test_the_nearest_station_that_has_data_answers(server: LoopbackServer, tmp_path: Path) -> None:
    server.files[daily_path(FAR)] = server.files.pop(daily_path(NEAR))
    days = fetch(server, tmp_path, replace(FJORD, source_ref=""))
    assert days == tuple(replace(day, source=AT_FAR) for day in THE_MEASURED)
    assert server.asked == ["/stations.db", daily_path(NEAR), daily_path(FAR)]


@pytest.mark.parametrize(
    ("site", "what"),
    [
        (replace(FJORD, source_ref=FAR), f"no data from station {FAR}"),
        (replace(FJORD, source_ref="XS999"), "no station XS999"),
        (replace(FJORD, source_ref="", position=Position(10.0, 10.0)), "no station within 50 km"),
    ],
)
def test_no_data_is_unknown(server: LoopbackServer, tmp_path: Path, site: Site, what: str) -> None:
    assert refusal(server, tmp_path, site) == (
        f"meteostat: unknown: {what}; what was stored is kept; the next run asks again"
    )


def test_a_year_that_fails_to_load_is_not_taken_for_a_gap(server: LoopbackServer, tmp_path: Path) -> None:
    server.broken.add(daily_path(NEAR, 2023))
    with pytest.raises(WeatherUnavailable, match=r'HTTP error .* "XS001" and year "2023"'):
        source(server.address, tmp_path).fetch(FJORD, date(2023, 12, 1), LAST, NOW)


def test_a_dead_network_is_unknown(tmp_path: Path) -> None:
    with socket.socket() as taken:  # bound and not listening: every connection is refused
        taken.bind(("127.0.0.1", 0))
        dead = source(f"http://127.0.0.1:{taken.getsockname()[1]}", tmp_path)
        with pytest.raises(WeatherUnavailable, match="unknown: the list of stations could not be loaded"):
            dead.fetch(FJORD, FIRST, LAST, NOW)


def test_a_network_that_dies_later_is_unknown_too(server: LoopbackServer, tmp_path: Path) -> None:
    """The list of stations is at hand from before."""
    fetch(server, tmp_path)
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        dead = source(f"http://127.0.0.1:{taken.getsockname()[1]}", tmp_path)
        with pytest.raises(WeatherUnavailable, match="Could not load data file"):
            dead.fetch(FJORD, FIRST, LAST, NOW)


def test_a_server_that_says_nothing_is_not_waited_for(server: LoopbackServer, tmp_path: Path) -> None:
    server.silent.add(daily_path(NEAR))
    with pytest.raises(WeatherUnavailable, match=r"\(timed out\)|no answer in 8 s"):
        source(server.address, tmp_path, timeout_s=8.0).fetch(FJORD, FIRST, LAST, NOW)


def test_a_server_that_never_ends_is_ended_with_the_child(server: LoopbackServer, tmp_path: Path) -> None:
    """It keeps every single wait short, so that only ending the process helps; half a list is no list."""
    server.trickling.add("/stations.db")
    with pytest.raises(WeatherUnavailable, match="no answer in 8 s, so it was ended"):
        source(server.address, tmp_path, timeout_s=8.0).fetch(FJORD, FIRST, LAST, NOW)
    assert server.asked == ["/stations.db"]
    server.trickling.clear()
    assert fetch(server, tmp_path) == THE_MEASURED


def test_through_the_step_what_was_stored_stays(store: Store, server: LoopbackServer, tmp_path: Path) -> None:
    set_up(store, FJORD)
    server.files[daily_path(NEAR)] = a_daily_file(*MEASURED_LINES, *MIXED_LINES)
    step = FetchWeather(store, {"meteostat": source(server.address, tmp_path)})
    assert step.run(NOW).changed == 5
    with store.read() as connection:
        before = load_weather(connection, "fjord", FIRST, LAST, NOW)
    assert tuple(one.weather for one in before) == (*THE_MEASURED, *THE_MIXED[1:])

    del server.files[daily_path(NEAR)]
    outcome = step.run(morning(date(2024, 3, 5)))
    assert outcome.changed == 0
    assert outcome.said == (
        "Fjord: no new weather, what was stored stays. meteostat: unknown: no data from station XS001; "
        "what was stored is kept; the next run asks again",
    )
    with store.read() as connection:
        assert load_weather(connection, "fjord", FIRST, LAST, morning(date(2024, 3, 5))) == before
