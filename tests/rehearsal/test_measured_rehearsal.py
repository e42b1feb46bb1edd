"""Nine years at Dublin Airport and Johnstown Castle, against the soil that was measured there."""

from __future__ import annotations

import json
import subprocess
import sys
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from tests.rehearsal.advice import assert_asked_when_dry_and_only_then, mornings


@dataclass(frozen=True)
class Rehearsed:
    home: Path
    told: dict[str, Any]


@pytest.fixture(scope="module")
def nine_years(records: Path, tmp_path_factory: pytest.TempPathFactory) -> Rehearsed:
    """The command as a person gives it."""
    home = tmp_path_factory.mktemp("home")
    words = ["rehearse", "--from", "2015-01-01", "--to", "2023-12-31", "--lawns", "30", "--json"]
    command = [sys.executable, "-m", "frontends.commands.main", *words]
    ran = subprocess.run(
        [*command, "--records", str(records), "--home", str(home)], capture_output=True, check=False
    )
    assert ran.returncode == 0, ran.stderr.decode()
    return Rehearsed(home, json.loads(ran.stdout))


def test_it_tells_the_agreed_shape(nine_years: Rehearsed) -> None:
    told = nine_years.told

    assert set(told) == {
        "from",
        "to",
        "lawns",
        "seconds",
        "windows",
        "treatments",
        "outside_window",
        "packs",
        "messages",
        "soil_opening",
    }
    assert (told["from"], told["to"], told["lawns"]) == ("2015-01-01", "2023-12-31", 30)
    assert set(told["packs"]) == {"bought", "used", "wasted"}
    assert all(set(line) == {"lawn", "season", "spans", "reason"} for line in told["windows"])


def test_the_soil_opens_within_a_week_of_the_measured_day_over_eighteen_springs(
    nine_years: Rehearsed,
) -> None:
    lines = nine_years.told["soil_opening"]

    assert {line["site"] for line in lines} == {"dublin-airport", "johnstown-castle"}
    assert len(lines) == 18
    errors = [
        abs((date.fromisoformat(line["estimated"]) - date.fromisoformat(line["measured"])).days)
        for line in lines
    ]
    assert sum(errors) / len(errors) <= 7


def test_no_treatment_lies_outside_a_window_and_every_season_has_one_or_a_reason(
    nine_years: Rehearsed,
) -> None:
    told = nine_years.told
    spans = {(line["lawn"], line["season"]): line["spans"] for line in told["windows"]}

    assert told["outside_window"] == 0
    assert told["treatments"] > 150
    assert all(line["reason"] for line in told["windows"])
    for year in range(2016, 2024):
        for season in (f"spring {year}", f"autumn {year}"):
            assert sum(1 for _, its in spans if its == season) >= 15


def test_water_is_asked_for_when_an_independent_balance_finds_it_missing(
    nine_years: Rehearsed, records: Path
) -> None:
    found, left_out = mornings(nine_years.home, records)

    assert left_out < nine_years.told["treatments"] / 10
    assert sum(morning.asked for morning in found) > 100
    assert sum(not morning.asked for morning in found) > 500
    assert_asked_when_dry_and_only_then(found)
