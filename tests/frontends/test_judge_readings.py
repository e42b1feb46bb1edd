"""`swardtide judge readings`: what it simulates, what it reckons, and what readings are worth on records."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date, timedelta
from math import cos, pi
from pathlib import Path
from random import Random
from statistics import fmean, pstdev

import pytest
from typer.testing import CliRunner

from frontends.commands.fit_readings import fitted_text
from frontends.commands.judge import app
from frontends.commands.judge_readings import judge_stage, priors_left_out
from frontends.commands.probe_records import ProbedStation, attendances, probes
from models.agronomy.fitted_readings import READINGS
from models.agronomy.lawn_prior import STATION
from models.facts.place import Texture
from models.facts.readings import LawnSoil
from models.facts.season import Span
from tests.windows.soil import a_soil_day

FIRST, LAST = date(2013, 1, 1), date(2016, 12, 31)
DAYS = Span(FIRST, LAST).days()


def a_station(file: str, off_c: float, sd_c: float = 0.6) -> ProbedStation:
    """An invented place whose soil is `off_c` from the estimate, and by chance some more each day."""
    chance = Random(file)
    season = {day: cos(2 * pi * (day.timetuple().tm_yday - 200) / 365) for day in DAYS}
    soil = tuple(
        a_soil_day(day, 10 + 6 * season[day], reference_et_mm=1.7 + 1.5 * season[day]) for day in DAYS
    )
    measured = {one.day: one.mean_10cm_c + off_c + chance.gauss(0, sd_c) for one in soil}
    lawn = LawnSoil(Texture.LOAM, longitude=0.0)
    return ProbedStation(file, lawn, soil, measured, dict.fromkeys(DAYS, 8.0))


def test_a_probe_is_drawn_from_the_measured_day_and_again_the_same() -> None:
    station = a_station("vale", 0.0)
    days = [FIRST + timedelta(days=7 * n) for n in range(200)]
    taken = probes(station, days, seed=1)
    assert taken == probes(station, list(reversed(days)), seed=1)[::-1]
    assert taken != probes(station, days, seed=2)
    off = [one.value_c - station.measured_c[one.day] for one in taken]
    # The probe's own error is 0.5 °C; the hour adds to it, and on the mean of a working day it is warmer.
    assert pstdev(off) > 0.5
    assert abs(fmean(off)) < 2.0
    assert all(9 <= one.taken_at.hour <= 17 and one.taken_at.date() == one.day for one in taken)


def test_a_day_that_was_not_measured_has_no_probe() -> None:
    station = a_station("vale", 0.0)
    holed = replace(station, measured_c={day: 9.0 for day in DAYS if day.month != 2})
    assert [one.day for one in probes(holed, [date(2014, 2, 20), date(2014, 4, 25)], 1)] == [
        date(2014, 4, 25)
    ]


def test_seasons_have_three_visits_and_a_measured_year_behind_them() -> None:
    found = list(attendances(a_station("vale", 0.0), seasons=2))
    assert {len(one.days) for one in found} == {6}
    assert (found[0].days[0], found[0].ends) == (date(2013, 2, 20), date(2013, 11, 30))
    assert found[0].later == (
        *(date(2014, *day) for day in ((2, 20), (4, 25), (5, 20))),
        *(date(2014, *day) for day in ((9, 5), (9, 20), (10, 18))),
    )
    assert all(one.ends + timedelta(days=330) <= LAST for one in found)


def test_an_invented_place_a_degree_off_is_found_and_one_that_is_not_off_is_left() -> None:
    stations = [a_station("off", -1.0), a_station("true", 0.0)]
    stage = judge_stage(stations, [STATION, STATION], seasons=2, seed=1, draws=2)
    off, true = stage["stations"]
    assert off["bias_c"] == pytest.approx(1.0, abs=0.05)
    assert off["rmse_before_c"] == pytest.approx((1.0 + 0.6**2) ** 0.5, abs=0.05)
    assert off["rmse_going_on_c"] < off["rmse_after_c"] < 0.9 * off["rmse_before_c"]
    assert true["rmse_after_c"] - true["rmse_before_c"] < 0.05
    assert (stage["biased_stations"], stage["biased_improved_by_a_tenth"]) == (1, 1)


def test_the_prior_is_fitted_on_the_other_places() -> None:
    stations = [a_station(name, off) for name, off in (("a", 0.1), ("b", -0.1), ("c", 0.2), ("d", 3.0))]
    without_a, *_, without_d = priors_left_out(stations)
    assert without_d.sds[0] < 0.5 < without_a.sds[0]


def test_fitted_text_is_python_that_gives_the_numbers_back() -> None:
    told: dict[str, dict[str, float]] = {}
    exec(fitted_text(READINGS, ["vale"], FIRST), told)
    assert told["READINGS"] == READINGS


def test_on_measured_records_readings_help_and_never_harm(records: Path) -> None:
    done = CliRunner().invoke(app, ["readings", "--records", str(records), "--json", "--draws", "1"])
    assert done.exit_code == 0, done.output
    stages = json.loads(done.stdout)["stages"]
    assert [stage["seasons_with_readings"] for stage in stages] == [1, 2, 4]
    for stage in stages:
        assert stage["worst_increase_c"] <= 0.02
        assert stage["mean_rmse_going_on_c"] < stage["mean_rmse_after_c"] < stage["mean_rmse_before_c"]
        assert stage["biased_improved_by_a_tenth"] == stage["biased_stations"]
        assert 0.75 <= stage["inside_80_after"] <= 0.85
    gains = [stage["mean_rmse_before_c"] - stage["mean_rmse_after_c"] for stage in stages]
    assert gains == sorted(gains)
    assert stages[-1]["mean_rmse_going_on_c"] <= 0.81
