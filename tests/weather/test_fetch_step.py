"""Fetching weather for every site: what is new is appended, what was there stays."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest

from models.errors import WeatherUnavailable
from models.facts.place import Site
from models.facts.step import Outcome
from models.facts.weather import KnownWeatherDay, Provenance, WeatherDay
from models.store.engine import Store
from models.store.weather import load_weather
from scheduler.steps.weather import FetchWeather
from scheduler.weather.source import WeatherAnswer
from scheduler.weather.station_file import StationFileSource
from tests.weather.places import HILL, VALLEY, days_from, invented, morning, set_up

HEADER = "date,temperature_max_c,temperature_min_c,rain_mm"
MARCH = date(2024, 3, 1)


def march(day: int) -> date:
    return date(2024, 3, day)


def write(folder: Path, stem: str, *lines: str) -> None:
    (folder / f"{stem}.csv").write_text("\n".join([HEADER, *lines]) + "\n")


def stored(store: Store, site: Site = VALLEY) -> tuple[KnownWeatherDay, ...]:
    with store.read() as connection:
        return load_weather(connection, site.key, date.min, date.max, datetime.max.replace(tzinfo=UTC))


def rain(store: Store, site: Site = VALLEY) -> list[tuple[int, float | None, int]]:
    return [(one.weather.day.day, one.weather.rain_mm, one.revision) for one in stored(store, site)]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    made = tmp_path / "stations"
    made.mkdir()
    return made


def fetching(store: Store, folder: Path) -> FetchWeather:
    return FetchWeather(store, {"station-file": StationFileSource(folder)})


def test_the_file_is_fetched_up_to_yesterday(store: Store, folder: Path) -> None:
    set_up(store, VALLEY, HILL)
    write(folder, "valley", "2024-03-01,9,2,1", "2024-03-02,9,2,2", "2024-03-03,9,2,3")
    write(folder, "hill", "2024-03-01,7,1,4")
    assert fetching(store, folder).run(morning(march(3))) == Outcome(3)
    assert rain(store) == [(1, 1.0, 1), (2, 2.0, 1)]
    assert rain(store, HILL) == [(1, 4.0, 1)]


def test_a_day_that_is_not_over_is_left_for_tomorrow(sqlite_store: Store, folder: Path) -> None:
    """At noon it is over somewhere on Earth, but not where the lawns are."""
    set_up(sqlite_store, VALLEY)
    write(folder, "valley", "2024-03-01,9,2,1", "2024-03-02,9,2,2")
    step = fetching(sqlite_store, folder)
    assert step.run(datetime(2024, 3, 2, 12, tzinfo=UTC)) == Outcome(1)
    assert step.run(datetime(2024, 3, 3, 0, 30, tzinfo=UTC)) == Outcome(1)
    assert rain(sqlite_store) == [(1, 1.0, 1), (2, 2.0, 1)]


def test_run_again_it_writes_nothing(store: Store, folder: Path) -> None:
    set_up(store, VALLEY)
    write(folder, "valley", "2024-03-01,9,2,1")
    step = fetching(store, folder)
    step.run(morning(march(2)))
    before = stored(store)
    assert step.run(morning(march(2))) == Outcome(0)
    assert stored(store) == before


def test_an_empty_site_begins_twelve_years_back(sqlite_store: Store, folder: Path) -> None:
    set_up(sqlite_store, VALLEY)
    write(folder, "valley", "2012-02-29,9,2,1", "2012-03-01,9,2,2", "2024-03-01,9,2,3")
    fetching(sqlite_store, folder).run(morning(march(2)))
    assert [one.weather.day for one in stored(sqlite_store)] == [date(2012, 3, 1), march(1)]


def test_a_correction_of_the_last_ten_days_is_a_new_revision(store: Store, folder: Path) -> None:
    set_up(store, VALLEY)
    lines = [f"2024-03-{day:02},9,2,1" for day in range(1, 16)]
    write(folder, "valley", *lines)
    step = fetching(store, folder)
    step.run(morning(march(16)))
    lines[5] = lines[6] = "2024-03-06,9,2,7"
    lines[6] = "2024-03-07,9,2,8"
    write(folder, "valley", *lines)
    assert step.run(morning(march(17))) == Outcome(2)
    assert rain(store)[5:8] == [(6, 7.0, 2), (7, 8.0, 2), (8, 1.0, 1)]


@pytest.mark.parametrize(
    "bad_line",
    [
        "2024-03-03,2,9,0",
        "2024-03-03,59,2,0",
        "2024-03-03,nine,2,0",
        "2024-03-02,9,2,0",
        "2024-03-03,9,2",
    ],
)
def test_a_refused_file_leaves_what_was_there_and_stops_no_other(
    store: Store, folder: Path, bad_line: str
) -> None:
    set_up(store, VALLEY, HILL)
    good = ("2024-03-01,9,2,1", "2024-03-02,9,2,2")
    write(folder, "valley", *good)
    step = fetching(store, folder)
    step.run(morning(march(3)))
    before = stored(store)

    write(folder, "valley", *good, bad_line)
    write(folder, "hill", "2024-03-03,7,1,4")
    outcome = step.run(morning(march(4)))

    assert outcome.changed == 1
    assert len(outcome.said) == 1
    assert outcome.said[0].startswith("Valley: no new weather, what was stored stays. valley.csv: refused")
    assert "line 4" in outcome.said[0]
    assert stored(store) == before
    assert rain(store, HILL) == [(3, 4.0, 1)]


def test_a_site_whose_source_is_not_set_up_is_said(sqlite_store: Store, folder: Path) -> None:
    set_up(sqlite_store, replace(VALLEY, source="balloon"))
    assert fetching(sqlite_store, folder).run(morning(march(2))) == Outcome(
        0,
        (
            "Valley: no new weather, what was stored stays. "
            "balloon: no such weather source is set up; one of station-file",
        ),
    )


@dataclass
class Teller:
    """A source that tells what it was given, and remembers what it was asked."""

    days: tuple[WeatherDay, ...] = ()
    silent: tuple[str, ...] = ()
    name: str = "teller"
    asked: list[tuple[str, date, date]] = field(default_factory=list)

    def fetch(self, site: Site, first: date, last: date, now: datetime) -> WeatherAnswer:
        self.asked.append((site.key, first, last))
        if site.key in self.silent:
            raise WeatherUnavailable(self.name, "no answer", "try tomorrow")
        return WeatherAnswer(self.days)


def telling(store: Store, teller: Teller) -> FetchWeather:
    set_up(store, replace(HILL, source="teller"), replace(VALLEY, source="teller"))
    return FetchWeather(store, {"teller": teller})


def test_one_silent_site_does_not_stop_the_others(store: Store) -> None:
    days = invented(days_from(march(1), 3))
    outcome = telling(store, Teller(days, silent=("hill",))).run(morning(march(4)))
    assert outcome == Outcome(
        3, ("Hill: no new weather, what was stored stays. teller: no answer; try tomorrow",)
    )
    assert tuple(one.weather for one in stored(store)) == days


def test_it_asks_from_ten_days_before_what_is_missing(sqlite_store: Store) -> None:
    teller = Teller(invented(days_from(march(1), 15)))
    step = telling(sqlite_store, teller)
    step.run(morning(march(16)))
    teller.asked.clear()
    step.run(morning(march(20)))
    assert teller.asked == [(key, march(6), march(19) + timedelta(days=9)) for key in ("hill", "valley")]


def test_forecasts_are_stored_beside_measurements_and_never_over_them(sqlite_store: Store) -> None:
    measured = invented(days_from(march(1), 2))
    ahead = tuple(
        replace(day, temperature_max_c=20.0, provenance=Provenance.FORECAST)
        for day in invented(days_from(march(2), 3))
    )
    step = telling(sqlite_store, Teller(measured + ahead))
    assert step.run(morning(march(3))) == Outcome(10)
    assert tuple(one.weather for one in stored(sqlite_store)) == measured + ahead[1:]


def test_a_day_that_cannot_be_true_is_left_out_and_said(store: Store) -> None:
    first, second = invented(days_from(march(1), 2))
    swapped = replace(second, temperature_min_c=9.0, temperature_max_c=2.0)
    outcome = telling(store, Teller((first, swapped), silent=("hill",))).run(morning(march(3)))
    assert outcome.changed == 1
    assert outcome.said[1] == "Valley: 2024-03-02 left out: minimum 9.0 °C above maximum 2.0 °C"
    assert tuple(one.weather for one in stored(store)) == (first,)
