"""`judge soil` and the fitting: on invented soil under real Seattle air, and on measured records."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from typer.testing import CliRunner, Result

from frontends.commands import fit_soil, judge
from frontends.commands.soil_records import load_records
from models.agronomy import fitted
from models.agronomy.judging import scored_days
from models.agronomy.soil import FITTED, advance
from models.errors import NotFound, RefusedInput
from tests.agronomy.seattle import LATITUDE_DEGREES, seattle_days

TEMPERATURES = {"rmse_c", "bias_c", "rmse_spring_c", "rmse_autumn_c"}
OPENINGS = {"seasons", "mean_abs_days", "median_abs_days", "p90_abs_days", "bias_days", "within_3_days"}


def run(*words: str) -> Result:
    return CliRunner().invoke(judge.app, ["soil", *words], catch_exceptions=False)


@pytest.fixture
def made_records(tmp_path: Path) -> Path:
    """Two stations under Seattle's air ; their invented soil is the estimate, at one 2 °C more."""
    days = seattle_days()
    estimates, _ = advance(None, days, LATITUDE_DEGREES)
    for file, more_c in (("near", 0.0), ("warm", 2.0)):
        rows = [
            f"{day.day},{day.temperature_max_c},{day.temperature_min_c},{day.rain_mm},"
            f"{soil.mean_10cm_c + more_c}"
            for day, soil in zip(days, estimates, strict=True)
        ]
        header = "date,temperature_max_c,temperature_min_c,rain_mm,soil_10cm_c"
        (tmp_path / f"{file}.csv").write_text("\n".join([header, *rows]), encoding="utf-8")
    (tmp_path / "stations.csv").write_text(
        "file,name,latitude,longitude,elevation_m,first,last\n"
        f"near,Near,{LATITUDE_DEGREES},-122.3,50,2012-01-01,2015-12-31\n"
        f"warm,Warm,{LATITUDE_DEGREES},-122.3,50,2012-01-01,2015-12-31\n",
        encoding="utf-8",
    )
    return tmp_path


def test_machines_get_the_agreed_shape(made_records: Path) -> None:
    result = run("--records", str(made_records), "--json")
    found: dict[str, Any] = json.loads(result.stdout)
    near, warm = found["stations"]
    days = 1461 - 366  # 2012 warms up
    assert near == {"file": "near", "days": days} | dict.fromkeys(TEMPERATURES, 0.0)
    assert warm == {"file": "warm", "days": days, "bias_c": -2.0} | dict.fromkeys(
        TEMPERATURES - {"bias_c"}, 2.0
    )
    assert found["mean_rmse_c"] == 1.0
    assert set(found) == {"stations", "mean_rmse_c", "opening", "baselines"}
    assert set(found["opening"]) == OPENINGS
    assert found["opening"]["seasons"] == 6
    assert found["opening"]["bias_days"] > 0
    assert set(found["baselines"]) == {"air_7day"}
    assert set(found["baselines"]["air_7day"]) == {"mean_rmse_c", "opening"}
    assert set(found["baselines"]["air_7day"]["opening"]) == OPENINGS


def test_leave_one_out_learns_from_the_others_only(made_records: Path) -> None:
    found = json.loads(run("--records", str(made_records), "--leave-one-out", "--json").stdout)
    assert [station["bias_c"] for station in found["stations"]] == pytest.approx([2.0, -2.0], abs=1e-6)


def test_people_get_a_table_in_words(made_records: Path) -> None:
    lines = run("--records", str(made_records)).stdout.splitlines()
    assert lines[0].split() == ["station", "days", "RMSE", "°C", "bias", "spring", "autumn"]
    assert lines[1].split() == ["near", "1095", "0.00", "0.00", "0.00", "0.00"]
    assert lines[2].split() == ["warm", "1095", "2.00", "-2.00", "2.00", "2.00"]
    assert "estimate: mean RMSE 1.00 °C" in lines
    assert any(line.startswith("7-day mean of air: mean RMSE") for line in lines)
    assert "left out: 0 springs with gaps, 0 without an opening" in lines[-1]


def test_columns_that_cannot_be_used_yet_are_refused(made_records: Path) -> None:
    result = run("--records", str(made_records), "--with", "wind,sun")
    assert result.exit_code == 2
    assert result.stdout == ""
    assert "cannot use wind,sun yet" in result.stderr


def test_a_bad_file_is_refused_with_its_line(made_records: Path) -> None:
    path = made_records / "near.csv"
    lines = path.read_text(encoding="utf-8").splitlines()
    path.write_text("\n".join([*lines[:100], "2012-04-09,cold,1,0,7", *lines[101:]]), encoding="utf-8")
    with pytest.raises(RefusedInput, match="line 101: temperature_max_c 'cold' is not a number"):
        run("--records", str(made_records))


def test_a_folder_without_a_listing_is_said(tmp_path: Path) -> None:
    with pytest.raises(NotFound, match=r"stations\.csv"):
        run("--records", str(tmp_path))


def test_the_fitting_writes_python_that_says_when(made_records: Path) -> None:
    words = ["--records", str(made_records), "--on", "2020-02-02"]
    text = CliRunner().invoke(fit_soil.app, words, catch_exceptions=False).stdout
    written: dict[str, Any] = {}
    exec(text, written)
    assert "fitted on 2020-02-02" in text
    assert "CC BY 4.0" in text
    # Half of the days are 2 °C warmer: the weights stay, the intercept takes the mean.
    assert written["SOIL"]["air_fast"] == pytest.approx(FITTED.air_fast, abs=1e-4)
    assert written["SOIL"]["intercept_c"] == pytest.approx(FITTED.intercept_c + 1, abs=1e-3)
    assert written["SOIL"]["residual_sd_c"] == pytest.approx(2.0, abs=1e-3)


def test_measured_soil_at_a_station_left_out(records: Path) -> None:
    found = json.loads(run("--records", str(records), "--leave-one-out", "--json").stdout)
    assert len(found["stations"]) == 7
    # 1.00 °C is the bound of the work; the tighter one notices a form that got worse.
    assert found["mean_rmse_c"] <= 0.90
    assert found["opening"]["mean_abs_days"] <= 5
    assert found["baselines"]["air_7day"]["mean_rmse_c"] > 2 * found["mean_rmse_c"]


def test_shipped_parameters_are_what_the_fitting_writes(records: Path) -> None:
    text = fit_soil.fitted_text(load_records(records), date(2026, 11, 25))
    assert text == Path(fitted.__file__).read_text(encoding="utf-8")


def test_two_in_three_measured_days_lie_within_the_standard_deviation(records: Path) -> None:
    within = []
    for record in load_records(records):
        estimates, _ = advance(None, record.days, record.station.position.latitude)
        measured = scored_days(record.days[0].day, record.soil_10cm_c)
        within.extend(
            abs(estimate.mean_10cm_c - measured[estimate.day]) <= estimate.sd_c
            for estimate in estimates
            if estimate.day in measured
        )
    # Of a normal error 68 % lie within one standard deviation.
    assert 0.63 < np.mean(within) < 0.80
