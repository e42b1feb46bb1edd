"""What the meteostat library does when things go wrong, with the real library against a real server."""

from __future__ import annotations

import gzip
import os
from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest

from models.errors import WeatherUnavailable
from models.facts.step import Outcome
from models.facts.weather import WeatherCredit, WeatherDay
from models.store.credits import load_credits
from models.store.engine import Store
from models.store.weather import load_weather
from scheduler.steps.weather import FetchWeather
from scheduler.weather.meteostat_source import CREDIT
from scheduler.weather.station_list import RENEWED_AFTER
from tests.weather.meteostat_server import LoopbackServer, a_daily_file, a_station_list, serving
from tests.weather.places import morning, set_up
from tests.weather.test_meteostat import (
    AT_NEAR,
    FAR,
    FIRST,
    FJORD,
    LAST,
    MEASURED_LINES,
    NEAR,
    NOW,
    STATIONS,
    THE_MEASURED,
    daily_path,
    source,
)

HIGH = "XS003"
ANYWHERE = replace(FJORD, source_ref="")
WITH_HILL = {**STATIONS, HIGH: (52.4, -6.5, 262)}


@pytest.fixture
def server(tmp_path: Path) -> Iterator[LoopbackServer]:
    files = {
        "/stations.db": a_station_list(tmp_path / "list.db", WITH_HILL),
        daily_path(NEAR): a_daily_file(*MEASURED_LINES),
    }
    with serving(files) as started:
        yield started


def list_in(tmp_path: Path) -> Path:
    return tmp_path / "cache" / "stations.db"


NOT_A_FILE = {
    "cut in the middle": a_daily_file(*MEASURED_LINES)[:-20],
    "nothing at all": b"",
    "empty inside": gzip.compress(b""),
    "a page of words": b"<html>Come back later</html>",
}


@pytest.mark.parametrize("content", NOT_A_FILE.values(), ids=NOT_A_FILE.keys())
def test_a_file_that_is_none_is_no_gap_in_the_record(
    server: LoopbackServer, tmp_path: Path, content: bytes
) -> None:
    server.files[daily_path(NEAR)] = content
    with pytest.raises(WeatherUnavailable, match='Could not load data file for station "XS001"'):
        source(server.address, tmp_path).fetch(FJORD, FIRST, LAST, NOW)


def test_a_connection_that_breaks_off_is_no_gap_either(server: LoopbackServer, tmp_path: Path) -> None:
    server.cut_off.add(daily_path(NEAR))
    with pytest.raises(WeatherUnavailable, match='Could not load data file for station "XS001"'):
        source(server.address, tmp_path).fetch(FJORD, FIRST, LAST, NOW)


def test_a_failed_refresh_empties_nothing(store: Store, server: LoopbackServer, tmp_path: Path) -> None:
    """The library would keep an empty file in its cache over the good one, and serve it for a month."""
    set_up(store, FJORD)
    step = FetchWeather(store, {"meteostat": source(server.address, tmp_path)})
    assert step.run(NOW).changed == 2
    server.broken.add(daily_path(NEAR))
    later = NOW + timedelta(hours=1)
    assert step.run(later).said[0].startswith("Fjord: no new weather, what was stored stays. meteostat: ")
    with store.read() as connection:
        kept = load_weather(connection, "fjord", FIRST, LAST, later)
    assert tuple(one.weather for one in kept) == THE_MEASURED
    assert [path.name for path in (tmp_path / "cache").iterdir()] == ["stations.db"]
    server.broken.clear()
    assert step.run(later) == Outcome(0)


def test_the_current_year_is_never_read_from_an_old_copy(server: LoopbackServer, tmp_path: Path) -> None:
    source(server.address, tmp_path).fetch(FJORD, FIRST, LAST, NOW)
    third = "2024,3,3,7,ghcnd,4.1,ghcnd,11.4,ghcnd,1.2,ghcnd,,,,"
    server.files[daily_path(NEAR)] = a_daily_file(*MEASURED_LINES, third)
    assert source(server.address, tmp_path).fetch(FJORD, FIRST, LAST, NOW).days == (
        *THE_MEASURED,
        WeatherDay(date(2024, 3, 3), 4.1, 11.4, 1.2, source=AT_NEAR),
    )


@pytest.mark.parametrize("fault", ["broken", "cut_off", "no list"])
def test_an_old_list_of_stations_is_better_than_none(
    server: LoopbackServer, tmp_path: Path, fault: str
) -> None:
    weather = source(server.address, tmp_path)
    weather.fetch(FJORD, FIRST, LAST, NOW)
    old = (NOW - RENEWED_AFTER - timedelta(days=1)).timestamp()
    os.utime(list_in(tmp_path), (old, old))
    good = list_in(tmp_path).read_bytes()
    if fault == "no list":
        server.files["/stations.db"] = b"<html>Come back later</html>"
    else:
        getattr(server, fault).add("/stations.db")
    server.asked.clear()
    assert weather.fetch(FJORD, FIRST, LAST, NOW).days == THE_MEASURED
    assert server.asked == ["/stations.db", daily_path(NEAR)]
    assert list_in(tmp_path).read_bytes() == good


def test_an_old_list_of_stations_is_renewed(server: LoopbackServer, tmp_path: Path) -> None:
    weather = source(server.address, tmp_path)
    weather.fetch(FJORD, FIRST, LAST, NOW)
    old = (NOW - RENEWED_AFTER - timedelta(days=1)).timestamp()
    os.utime(list_in(tmp_path), (old, old))
    moved = {NEAR: (52.3, -6.2, 62)}
    server.files["/stations.db"] = a_station_list(tmp_path / "new.db", moved)
    # 0.3 degrees along the parallel of 52.3: 0.3 * 111.19 km * cos(52.3) = 20.4 km.
    days = weather.fetch(FJORD, FIRST, LAST, NOW).days
    assert {day.source for day in days} == {f"meteostat {NEAR} (20 km away)"}


def test_forty_years_are_asked_for_in_pieces(server: LoopbackServer, tmp_path: Path) -> None:
    """The library refuses more than thirty years at once."""
    first_line = "1984,3,1,6,ghcnd,1.0,ghcnd,8.0,ghcnd,0,ghcnd,,,,"
    server.files[daily_path(NEAR, 1984)] = a_daily_file(first_line)
    answer = source(server.address, tmp_path).fetch(FJORD, date(1984, 1, 1), LAST, NOW)
    assert [day.day for day in answer.days] == [date(1984, 3, 1), date(2024, 3, 1), date(2024, 3, 2)]
    assert sorted(server.asked[1:]) == [daily_path(NEAR, year) for year in range(1984, 2025)]


def test_of_many_stations_a_few_are_asked(server: LoopbackServer, tmp_path: Path) -> None:
    """The library refuses more than ten at once; nobody needs the fifth."""
    many = {f"XT{n:03}": (52.3 + n / 100, -6.5, 62) for n in range(1, 16)}
    server.files["/stations.db"] = a_station_list(tmp_path / "many.db", many)
    with pytest.raises(WeatherUnavailable, match="no data from station XT001, XT002, XT003, XT004;"):
        source(server.address, tmp_path).fetch(ANYWHERE, FIRST, LAST, NOW)


def test_a_value_the_library_would_drop_in_silence_is_said(
    store: Store, server: LoopbackServer, tmp_path: Path
) -> None:
    """73 is no °C; the library's own cleaning leaves such a value out without a word."""
    set_up(store, FJORD)
    hot = "2024,3,3,60,ghcnd,50.0,ghcnd,73.0,ghcnd,0,ghcnd,,,,"
    server.files[daily_path(NEAR)] = a_daily_file(*MEASURED_LINES, hot)
    outcome = FetchWeather(store, {"meteostat": source(server.address, tmp_path)}).run(NOW)
    assert outcome.said == (
        "Fjord: temperature_max_c left out where it is outside -60 to 60: 73 on 2024-03-03; check its unit",
    )


def test_another_station_stands_in_and_the_step_says_so(
    store: Store, server: LoopbackServer, tmp_path: Path
) -> None:
    """The hill is 11 km away, and its 200 m count as 20 more: still nearer than the other's 37 km."""
    set_up(store, ANYWHERE)
    third = "2024,3,3,7,ghcnd,4.1,ghcnd,11.4,ghcnd,9.9,ghcnd,,,,"
    server.files[daily_path(HIGH)] = a_daily_file(third)
    server.files[daily_path(FAR)] = a_daily_file(third.replace("4.1", "6.1"))
    weather = source(server.address, tmp_path)
    assert weather.fetch(ANYWHERE, FIRST, LAST, NOW).days[2] == WeatherDay(
        date(2024, 3, 3),
        5.4,
        12.7,
        None,
        source=f"meteostat {HIGH} (11 km away, 200 m higher) in place of {NEAR}",
    )  # 200 m at 6.5 K a kilometre are 1.3 °C (ISO 2533)

    first_night = FetchWeather(store, {"meteostat": weather}).run(morning(date(2024, 3, 3)))
    assert first_night.said == ()
    second_night = FetchWeather(store, {"meteostat": weather}).run(NOW)
    assert second_night.said == (
        f"Fjord: 2024-03-03 measured at meteostat {HIGH} (11 km away, 200 m higher) in place of {NEAR}, "
        f"other than usual ({AT_NEAR})",
    )
    assert FetchWeather(store, {"meteostat": weather}).run(NOW).said == ()


def test_a_stand_in_that_fails_takes_nothing_from_the_first(server: LoopbackServer, tmp_path: Path) -> None:
    server.broken.add(daily_path(HIGH))
    server.broken.add(daily_path(FAR))
    answer = source(server.address, tmp_path).fetch(ANYWHERE, FIRST, LAST, NOW)
    assert answer.days == THE_MEASURED
    assert len(answer.said) == 1
    assert answer.said[0].startswith(f"station {HIGH} could not stand in: HTTP error")


def test_a_station_far_above_the_site_is_not_asked(server: LoopbackServer, tmp_path: Path) -> None:
    server.files["/stations.db"] = a_station_list(tmp_path / "alps.db", {HIGH: (52.31, -6.5, 900)})
    with pytest.raises(WeatherUnavailable, match="no station within 50 km"):
        source(server.address, tmp_path).fetch(ANYWHERE, FIRST, LAST, NOW)


def test_whom_the_data_comes_from_is_kept_with_it(
    store: Store, server: LoopbackServer, tmp_path: Path
) -> None:
    """Names and terms are the library's own; CC0 and CC BY 4.0 by their addresses at creativecommons.org."""
    set_up(store, FJORD)
    by_model = "2024,3,3,7,ghcnd,4.1,ghcnd,11.4,ghcnd,1.2,dwd_mosmix,36,dwd_mosmix,,"
    server.files[daily_path(NEAR)] = a_daily_file(*MEASURED_LINES, by_model)
    FetchWeather(store, {"meteostat": source(server.address, tmp_path)}).run(NOW)
    with store.read() as connection:
        assert load_credits(connection) == {
            "fjord": (
                WeatherCredit(
                    "meteostat",
                    "Deutscher Wetterdienst",
                    "CC BY 4.0",
                    "https://creativecommons.org/licenses/by/4.0/",
                ),
                CREDIT,
                WeatherCredit(
                    "meteostat",
                    "NOAA GHCN-Daily",
                    "CC0 1.0 Universal",
                    "https://creativecommons.org/publicdomain/zero/1.0/",
                ),
            )
        }
