"""The likely dates judged: scores against closed forms, no look ahead, and the measured records."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date
from math import exp, pi, sqrt
from pathlib import Path
from statistics import NormalDist
from typing import Any

import numpy as np
import pytest
import typer
from hypothesis import given
from hypothesis import strategies as st
from typer.testing import CliRunner

from frontends.commands.judge_outlook import forecasts_of, outlook, soil_days_of
from frontends.commands.soil_records import load_records
from models.agronomy.judging import soil_opening
from models.agronomy.scores import crps, within_range
from models.facts.weather import SoilDay
from scheduler.windows.opening import OpeningAhead, opening_ahead, soil_openings
from tests.agronomy.seattle import LATITUDE_DEGREES, seattle_days
from tests.windows.soil import DAY, steady_soil

app = typer.Typer()
app.command()(outlook)

STANDARD = NormalDist()


@pytest.mark.parametrize("mean", [0.0, 12.0])
@pytest.mark.parametrize("sd", [1.0, 7.5])
@pytest.mark.parametrize("observed", [-4.0, 0.0, 0.7, 20.0])
def test_the_score_of_a_normal_distribution_has_its_closed_form(
    mean: float, sd: float, observed: float
) -> None:
    # Gneiting, Raftery, Westveld & Goldman 2005, Monthly Weather Review 133:1098, equation 5, from memory:
    # sd (z (2 Phi(z) - 1) + 2 phi(z) - 1 / sqrt(pi)), z = (observed - mean) / sd.
    z = (observed - mean) / sd
    density = exp(-z * z / 2) / sqrt(2 * pi)
    closed = sd * (z * (2 * STANDARD.cdf(z) - 1) + 2 * density - 1 / sqrt(pi))
    members = [mean + sd * STANDARD.inv_cdf((n + 0.5) / 20000) for n in range(20000)]
    assert crps(members, observed) == pytest.approx(closed, abs=2e-4 * sd)


MEMBERS = st.lists(st.integers(-60, 60), min_size=1, max_size=12)


@given(MEMBERS, st.integers(-60, 60))
def test_the_score_is_the_area_between_the_distribution_functions(members: list[int], observed: int) -> None:
    # Hersbach 2000, Weather and Forecasting 15:559, equation 1; both functions are steps at whole days.
    shares = np.array([np.mean(np.array(members) <= x) - (observed <= x) for x in range(-61, 61)])
    assert crps(members, observed) == pytest.approx(float((shares**2).sum()), abs=1e-9)


def test_the_score_of_one_member_is_its_absolute_error_and_none_has_none() -> None:
    assert crps([12.0], 9.0) == 3.0
    with pytest.raises(ValueError, match="at least one member"):
        crps([], 9.0)


def test_the_range_is_of_members_and_holds_its_ends() -> None:
    ten = list(range(1, 11))
    assert [day for day in range(12) if within_range(ten, day)] == list(range(1, 10))


@given(st.lists(st.floats(2.0, 16.0), min_size=107, max_size=107), st.sampled_from([2019, 2020]))
def test_many_openings_at_once_are_the_opening_of_each(means_c: list[float], year: int) -> None:
    first = date(year, 3, 1)  # 107 days reach to 15 June
    opened = soil_opening({first + n * DAY: mean_c for n, mean_c in enumerate(means_c)}, year)
    days = int(soil_openings(np.array([means_c]))[0])
    assert (date(year, 3, 7) + days * DAY if days < 101 else None) == opened


def warm_from(year: int, month_and_day: tuple[int, int]) -> tuple[SoilDay, ...]:
    """At 4 °C until that day, at 30 °C from it: the second day's week has 2 x 30 + 5 x 4, 11.4 °C."""
    turn = date(year, *month_and_day)
    return (
        *steady_soil(date(year, 1, 1), turn - DAY, 4.0),
        *steady_soil(turn, date(year, 6, 30), 30.0),
    )


def test_what_is_ahead_begins_from_today_and_the_climate_does_not() -> None:
    past = (*warm_from(2024, (4, 1)), *warm_from(2025, (4, 11)), *warm_from(2026, (4, 21)))
    today = date(2027, 3, 20)
    exact = [replace(soil, sd_c=0.0) for soil in (*past, *steady_soil(date(2027, 1, 1), today - DAY, 4.0))]
    found = opening_ahead(exact, today)
    # 2 April, 12 April and 22 April are 26, 36 and 46 days after 7 March; five equal errors of none.
    assert found.from_years == 3
    assert sorted(found.ahead) == sorted(found.climate) == sorted([26, 36, 46] * 5)
    warm = [*past, *steady_soil(date(2027, 1, 1), today - DAY, 11.0)]
    opened = opening_ahead([replace(soil, sd_c=0.0) for soil in warm], today)
    assert set(opened.ahead) == {0}
    assert sorted(opened.climate) == sorted(found.climate)


def test_the_estimates_own_error_widens_what_is_ahead() -> None:
    past = [
        day for year in range(2020, 2027) for day in steady_soil(date(year, 1, 1), date(year, 6, 30), 9.9)
    ]
    today = date(2027, 3, 20)

    def ahead(sd_c: float) -> OpeningAhead:
        now = steady_soil(date(2027, 1, 1), today - DAY, 9.9)
        return opening_ahead([replace(soil, sd_c=sd_c) for soil in (*past, *now)], today)

    assert set(ahead(0.0).ahead) == {101}
    # Of five equal errors around none, two are warmer by more than 0.1 °C.
    assert sorted(ahead(0.9).ahead) == [0] * 14 + [101] * 21


@pytest.fixture
def made_records(tmp_path: Path) -> Path:
    """Seattle's weather of four years, over and over from 2004 to 2019; the invented soil is the estimate."""
    weather = [
        (day.day.replace(year=day.day.year + shift), day)
        for shift in (-8, -4, 0, 4)
        for day in seattle_days()
    ]
    rows = [
        f"{on},{day.temperature_max_c},{day.temperature_min_c},{day.rain_mm}"
        for on, day in sorted(weather, key=lambda one: one[0])
    ]
    header = "date,temperature_max_c,temperature_min_c,rain_mm"
    write_station(tmp_path, [header, *rows])
    (record,) = load_records(tmp_path)
    soil_c = {soil.day: soil.mean_10cm_c for soil in soil_days_of(record)}
    with_soil = [
        f"{row},{soil_c.get(on, '')}"
        for row, (on, _) in zip(rows, sorted(weather, key=lambda one: one[0]), strict=True)
    ]
    write_station(tmp_path, [f"{header},soil_10cm_c", *with_soil])
    return tmp_path


def write_station(folder: Path, lines: list[str]) -> None:
    (folder / "invented.csv").write_text("\n".join(lines), encoding="utf-8")
    (folder / "stations.csv").write_text(
        "file,name,latitude,longitude,elevation_m,first,last\n"
        f"invented,Invented,{LATITUDE_DEGREES},-122.3,50,2004-01-01,2019-12-31\n",
        encoding="utf-8",
    )


def test_no_forecast_knows_the_days_after_it(made_records: Path) -> None:
    (record,) = load_records(made_records)
    last = date(2016, 6, 15)
    days = tuple(day for day in record.days if day.day <= last)
    soil_c = {day: mean_c for day, mean_c in record.soil_10cm_c.items() if day <= last}
    cut = list(forecasts_of(replace(record, days=days, soil_10cm_c=soil_c)))
    assert {one.year for one in cut} == {2013, 2014, 2015, 2016}
    assert cut == [one for one in forecasts_of(record) if one.year <= 2016]


def test_machines_get_the_scores_of_each_day_of_issue(made_records: Path) -> None:
    result = CliRunner().invoke(app, ["--records", str(made_records), "--json"], catch_exceptions=False)
    found: dict[str, Any] = json.loads(result.stdout)
    assert found["stations"] == ["invented"]
    assert [row["on"] for row in found["issued"]] == ["02-01", "03-01", "04-01", "04-15"]
    for row in found["issued"]:
        assert row["springs"] + row["open_already"] == 7
        if row["springs"]:
            assert 0 <= row["within_80"] <= 1
            assert row["ratio"] == pytest.approx(row["crps_days"] / row["climate_crps_days"], abs=1e-3)
            least, most = row["ratio_interval"]
            assert least <= row["ratio"] <= most
    assert found["pooled"]["springs"] == sum(row["springs"] for row in found["issued"])


def test_people_get_a_table_of_both_ways_to_leave_out(made_records: Path) -> None:
    result = CliRunner().invoke(app, ["--records", str(made_records)], catch_exceptions=False)
    lines = result.stdout.splitlines()
    assert lines[0] == "Stations: invented"
    assert [line.split("  ")[0] for line in lines if line[:1].isdigit()] == [
        "1 February",
        "1 March",
        "1 April",
        "15 April",
    ] * 2
    assert "In brackets 90 % of a thousand draws of whole years." in lines


def test_on_measured_records_it_holds_its_range_and_beats_the_climate(records: Path) -> None:
    result = CliRunner().invoke(app, ["--records", str(records), "--json"], catch_exceptions=False)
    found: dict[str, Any] = json.loads(result.stdout)
    february, march, april, mid_april = found["issued"]
    # Ours to reach: no measure of others is known for openings weeks ahead.
    assert 0.68 <= found["pooled"]["within_80"] <= 0.92
    assert february["ratio"] <= 1.02
    assert march["ratio"] <= 1.02
    assert april["ratio"] < 1
    assert mid_april["ratio"] < 1
