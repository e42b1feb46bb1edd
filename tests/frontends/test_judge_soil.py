"""`judge soil` and the fitting: on invented soil under real Seattle air, and on measured records."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from typer.testing import CliRunner, Result

from frontends.commands import fit_soil, judge
from frontends.commands.soil_records import load_records
from models.agronomy.correction_fit import fit_correction, fold_inputs
from models.agronomy.fitted import RIDGE
from models.agronomy.judging import scored_days
from models.agronomy.soil import advance
from models.agronomy.soil_fit import bare
from models.agronomy.soil_laws import FITTED
from models.errors import NotFound, RefusedInput
from tests.agronomy.seattle import LATITUDE_DEGREES, seattle_days

TEMPERATURES = {"rmse_c", "bias_c", "rmse_spring_c", "rmse_autumn_c"}
OPENINGS = {"seasons", "mean_abs_days", "median_abs_days", "p90_abs_days", "bias_days", "within_3_days"}
SHARES = {"right_open", "right_shut", "wrong_open", "wrong_shut"}
WAY = {
    "stations",
    "mean_rmse_c",
    "opening",
    "closing",
    "window_days",
    "bootstrap",
    "rmse_by_year_c",
    "affine_rmse_c",
}
PEERS = {
    "air_day",
    "air_7day",
    "climate",
    "kusuda_1965",
    "katterer_andren_2009",
    "swat",
    "parton_1984",
    "campbell_1985",
}


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
    assert set(found) == WAY | {"coverage_80", "baselines"}
    assert found["opening"]["seasons"] == 6
    assert found["opening"]["bias_days"] > 0
    assert set(found["baselines"]) == PEERS


def test_every_peer_has_the_shape_of_the_estimate(made_records: Path) -> None:
    found: dict[str, Any] = json.loads(run("--records", str(made_records), "--json").stdout)
    for way in (found, *found["baselines"].values()):
        assert set(way) >= WAY
        assert [set(station) for station in way["stations"]] == [TEMPERATURES | {"file", "days"}] * 2
        assert set(way["opening"]) == set(way["closing"]) == OPENINGS
        assert set(way["bootstrap"]["opening"]) == OPENINGS - {"seasons"}
        for season in ("spring", "autumn", "both"):
            shares = way["window_days"][season]
            assert set(shares) == SHARES | {"days"}
            assert sum(shares[name] for name in SHARES) == pytest.approx(1, abs=3e-4)
        least, most = way["bootstrap"]["mean_rmse_c"]
        assert least <= way["mean_rmse_c"] <= most
        assert set(way["rmse_by_year_c"]) == {"2013", "2014", "2015"}


def test_the_band_of_a_perfect_and_of_a_biased_estimate(made_records: Path) -> None:
    covered = json.loads(run("--records", str(made_records), "--json").stdout)["coverage_80"]
    # 2 °C lie outside 1.28 standard deviations of the estimate.
    assert covered == {"pooled": 0.5, "stations": {"near": 1.0, "warm": 0.0}}


def test_the_same_records_give_the_same_bytes(made_records: Path) -> None:
    words = ("--records", str(made_records), "--json")
    assert run(*words).stdout == run(*words).stdout


def test_one_station_alone_is_judged_without_what_needs_others(made_records: Path) -> None:
    listing = made_records / "stations.csv"
    listing.write_text("\n".join(listing.read_text(encoding="utf-8").splitlines()[:2]), encoding="utf-8")
    found = json.loads(run("--records", str(made_records), "--json").stdout)
    assert (found["mean_rmse_c"], found["affine_rmse_c"]) == (0.0, None)
    climate = found["baselines"]["climate"]
    assert (climate["mean_rmse_c"], climate["stations"][0]["days"]) == (None, 0)
    assert climate["bootstrap"]["mean_rmse_c"] is None


def test_leave_one_out_learns_from_the_others_only(made_records: Path) -> None:
    """The other soil is 2 °C off; fitted on it alone, the form comes within a tenth of it."""
    found = json.loads(run("--records", str(made_records), "--leave-one-out", "--json").stdout)
    assert [station["bias_c"] for station in found["stations"]] == pytest.approx([2.0, -2.0], abs=0.1)


def test_people_get_tables_and_words(made_records: Path) -> None:
    lines = run("--records", str(made_records)).stdout.splitlines()
    assert lines[0].split() == [
        "Station",
        "days",
        "RMSE",
        "°C",
        "bias",
        "spring",
        "autumn",
        "in",
        "80",
        "%",
        "band",
    ]
    assert lines[1].split() == ["near", "1095", "0.00", "+0.00", "0.00", "0.00", "100", "%"]
    assert lines[2].split() == ["warm", "1095", "2.00", "-2.00", "2.00", "2.00", "0", "%"]
    tables = [line for line in lines if line.startswith("this estimate")]
    assert len(tables) == 4
    for words in ("air of the same day", "Kusuda & Achenbach 1965", "Campbell 1985 column"):
        assert sum(line.startswith(words) for line in lines) == 4
    assert "50 % of all days lie in the estimate's 80 % band." in lines
    assert "Left out with gaps: 0 springs, 0 autumns." in lines
    assert max(len(line) for line in lines) <= 110


@pytest.mark.parametrize(
    ("columns", "why"), [("rain", "rain: there is sun and wind"), ("sun,", ": there is sun and wind")]
)
def test_columns_that_are_not_there_are_refused(made_records: Path, columns: str, why: str) -> None:
    result = run("--records", str(made_records), "--with", columns)
    assert (result.exit_code, result.stdout) == (2, "")
    assert why in result.stderr


def test_sun_without_wind_is_refused(made_records: Path) -> None:
    result = run("--records", str(made_records), "--with", "sun")
    assert (result.exit_code, result.stdout) == (2, "")
    assert "write sun,wind, or wind" in result.stderr


def test_a_bad_file_is_refused_with_its_line(made_records: Path) -> None:
    path = made_records / "near.csv"
    lines = path.read_text(encoding="utf-8").splitlines()
    path.write_text("\n".join([*lines[:100], "2012-04-09,cold,1,0,7", *lines[101:]]), encoding="utf-8")
    with pytest.raises(RefusedInput, match="line 101: temperature_max_c 'cold' is not a number"):
        run("--records", str(made_records))


def test_a_folder_without_a_listing_is_said(tmp_path: Path) -> None:
    with pytest.raises(NotFound, match=r"stations\.csv"):
        run("--records", str(tmp_path))


def test_stations_without_wind_cannot_be_fitted_on(made_records: Path) -> None:
    words = ["--records", str(made_records), "--on", "2020-02-02"]
    with pytest.raises(RefusedInput) as refused:
        CliRunner().invoke(fit_soil.app, words, catch_exceptions=False)
    assert [(fault.where, fault.value) for fault in refused.value.faults] == [
        ("near", "no wind"),
        ("warm", "no wind"),
    ]


@pytest.fixture(scope="module")
def left_out(records: Path) -> dict[str, Any]:
    """The judging of the measured records, each station by what the others taught."""
    found: dict[str, Any] = json.loads(run("--records", str(records), "--leave-one-out", "--json").stdout)
    return found


def test_measured_soil_at_a_station_left_out(left_out: dict[str, Any]) -> None:
    assert len(left_out["stations"]) == 7
    # 1.00 °C is the bound of the work; the tighter one notices a form that got worse.
    assert left_out["mean_rmse_c"] <= 0.90
    assert left_out["opening"]["mean_abs_days"] <= 5
    assert left_out["closing"]["mean_abs_days"] <= 5


def test_ahead_of_the_published_peers_at_the_stations(left_out: dict[str, Any]) -> None:
    ours = {station["file"]: station["rmse_c"] for station in left_out["stations"]}
    behind = {
        (name, station["file"])
        for name, peer in left_out["baselines"].items()
        for station in peer["stations"]
        if station["rmse_c"] <= ours[station["file"]]
    }
    # Shannon's plot is colder than its air makes elsewhere, and that peer's general cold fault fits it.
    assert behind <= {("parton_1984", "shannon-airport")}


def test_ahead_of_every_peer_in_the_days_that_matter(left_out: dict[str, Any]) -> None:
    for peer in left_out["baselines"].values():
        for turn in ("opening", "closing"):
            assert left_out[turn]["mean_abs_days"] < peer[turn]["mean_abs_days"]
        ours, theirs = left_out["window_days"]["both"], peer["window_days"]["both"]
        assert ours["wrong_open"] + ours["wrong_shut"] < theirs["wrong_open"] + theirs["wrong_shut"]


def test_peers_err_as_they_do_elsewhere(left_out: dict[str, Any]) -> None:
    # The same models on thirteen Irish stations, seven of them these, with measured radiation where there is
    # some (an earlier comparison, worked apart from this code): within a quarter. Kätterer & Andrén is left
    # out: 2.02 there, 1.49 here over a bare plot.
    thirteen = {
        "air_day": 2.06,
        "air_7day": 2.07,
        "climate": 1.91,
        "kusuda_1965": 2.57,
        "swat": 2.58,
        "parton_1984": 1.59,
        "campbell_1985": 1.44,
    }
    found = {name: left_out["baselines"][name]["mean_rmse_c"] for name in thirteen}
    assert found == pytest.approx(thirteen, rel=0.25)


def test_shipped_correction_is_what_the_fitting_gives(records: Path) -> None:
    """Of the fit, the cheap part: the surface as shipped, the quadratic form by least squares."""
    together = fit_soil.side_by_side(load_records(records))
    columns = bare(FITTED.clearness, FITTED.plain.surface, windy=False)
    (inputs,) = fold_inputs(together, [columns])
    again = fit_correction(together, inputs, together.stations, RIDGE["plain"], windy=False)
    added = [one.added_c(inputs[0]) for one in (again, FITTED.plain.correction) if one is not None]
    # The shipped surface is rounded to six figures, and so the numbers themselves are not the same.
    np.testing.assert_allclose(added[0], added[1], atol=0.01)


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
