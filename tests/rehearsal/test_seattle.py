"""Four years of the whole service on real weather: Seattle 2012 to 2015 (NOAA, carried by vega_datasets)."""

from __future__ import annotations

import csv
from collections import defaultdict
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import pytest
import vega_datasets

from frontends.commands.rehearse import Rehearsal, rehearsed
from frontends.commands.rehearsing import open_home
from models.facts.place import Position, Site
from models.facts.season import Season
from models.store.windows import load_windows
from models.store.work import load_treatments
from scheduler.rehearsal.report import Report
from tests.rehearsal.advice import assert_asked_when_dry_and_only_then, mornings

FIRST, LAST = date(2012, 6, 1), date(2015, 12, 31)
# Seattle-Tacoma airport, NOAA station USW00024233, from memory.
SEATTLE = Site("seattle", "Seattle", Position(47.44, -122.31), 112.0, "station-file", "seattle")


@dataclass(frozen=True)
class Rehearsed:
    home: Path
    records: Path
    report: Report


@pytest.fixture(scope="module")
def seattle(tmp_path_factory: pytest.TempPathFactory) -> Rehearsed:
    records, home = tmp_path_factory.mktemp("records"), tmp_path_factory.mktemp("home")
    with (records / "seattle.csv").open("w", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(("date", "temperature_max_c", "temperature_min_c", "rain_mm"))
        for row in vega_datasets.local_data.seattle_weather().itertuples():
            writer.writerow((row.date.date(), row.temp_max, row.temp_min, row.precipitation))
    asked = Rehearsal(FIRST, LAST, records, (SEATTLE,), 4, 5, "America/Los_Angeles")
    return Rehearsed(home, records, rehearsed(asked, home))


def test_every_season_has_its_spans_or_a_reason(seattle: Rehearsed) -> None:
    lines = seattle.report.windows

    assert {line.season for line in lines} >= {
        f"{name} {year}" for year in (2013, 2014, 2015) for name in ("spring", "autumn")
    }
    assert all(line.reason for line in lines)
    # Common practice: 15 April to 15 May, 1 September to 31 October.
    for span in (span for line in lines for span in line.spans):
        spring = date(span.first.year, 4, 15) <= span.first <= span.last <= date(span.first.year, 5, 15)
        autumn = date(span.first.year, 9, 1) <= span.first <= span.last <= date(span.first.year, 10, 31)
        assert spring or autumn


def test_every_treatment_lies_in_an_open_span_of_its_season(seattle: Rehearsed) -> None:
    with open_home(seattle.home) as store, store.read() as connection:
        treatments, windows = load_treatments(connection), load_windows(connection)
    open_days: dict[str, set[date]] = defaultdict(set)
    for window in windows:
        for span in window.spans:
            open_days[window.lawn_key] |= set(span.days())

    assert len(treatments) >= 9
    assert all(treatment.day in open_days[treatment.lawn_key] for treatment in treatments)
    assert seattle.report.outside_window == 0
    autumns = {(t.lawn_key, t.day.year) for t in treatments if t.day.month >= 9}
    assert len(autumns) == sum(1 for t in treatments if t.day.month >= 9)  # one a lawn and autumn


def test_water_is_asked_for_when_an_independent_balance_finds_it_missing(seattle: Rehearsed) -> None:
    found, left_out = mornings(seattle.home, seattle.records)

    assert left_out == 0
    assert sum(morning.asked for morning in found) > 10
    assert sum(not morning.asked for morning in found) > 10
    assert_asked_when_dry_and_only_then(found)


def test_packs_and_seasons_add_up(seattle: Rehearsed) -> None:
    report = seattle.report

    assert report.packs_used <= report.packs_bought
    assert report.messages["treatment-done"] == report.treatments
    assert Season.parse("2015-2-autumn").words in {line.season for line in report.windows if line.spans}
