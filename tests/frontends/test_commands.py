"""The command line as people and machines meet it: the installed command in its own process."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from math import pi, sin
from pathlib import Path
from typing import Any

import pytest

from models.clock import now_utc

COMMAND = Path(sys.executable).parent / "swardtide"
HEADER = (
    "client,name,email,phone,lawn,lawn_name,latitude,longitude,site,texture,zones,tap_l_min,notes,time_zone"
)
GOOD = f"""{HEADER}
orla,Orla Sorrelby,orla@clients.example,,sorrelby,Sorrelby back,53.9,-12.1,mill,loam,front 90; back 60,15,,
tam,Tam Pimpernell,,555 0101,pimpernell,Pimpernell lawn,53.91,-12.11,mill,clay,all 80,,,
"""
BAD = f"""{HEADER}
orla,Orla Sorrelby,orla at clients,,sorrelby-back,Sorrelby back,53.9,-12.1,mill,loam,front 90,15,,
tam,Tam Pimpernell,,,pimpernell,Pimpernell lawn,153.9,-12.1,mill,clay,all 80,,,
ida,Ida Quakegrass,,,quakegrass,Quakegrass lawn,53.9,-12.1,mill,clay,all 0,,,
ida,Ida Quakegrass,,,quakegrass,Quakegrass lawn,53.9,-12.1,moon,peat,all 99000,,,
"""
BEGIN = (
    *("clients", "begin", "--name", "Tarnwhistle Turf", "--email", "office@tarnwhistle.example"),
    *("--base", "53.9,-12.1", "--time-zone", "Europe/Dublin", "--site", "mill", "--source", "station-file"),
    *("--source-ref", "mill", "--site-name", "Skerravane Mill (invented)"),
)


@dataclass(frozen=True)
class Answer:
    code: int
    out: str
    err: str

    @property
    def json(self) -> Any:
        return json.loads(self.out)


@dataclass(frozen=True)
class Installation:
    home: Path

    @property
    def environment(self) -> Mapping[str, str]:
        kept = {name: value for name, value in os.environ.items() if not name.startswith("SWARDTIDE_")}
        return {**kept, "SWARDTIDE_HOME": str(self.home)}

    def __call__(self, *words: str) -> Answer:
        ran = subprocess.run(
            [COMMAND, *words], capture_output=True, text=True, env=self.environment, timeout=120, check=False
        )
        return Answer(ran.returncode, ran.stdout, ran.stderr)

    def write(self, name: str, text: str) -> str:
        path = self.home.parent / name
        path.write_text(text, encoding="utf-8")
        return str(path)


def invented_weather(last: date, days: int = 800) -> str:
    """A plain year of invented weather, over and over: mild, with rain every third day."""
    rows = ["date,temperature_max_c,temperature_min_c,rain_mm"]
    for day in (last - timedelta(days=back) for back in reversed(range(days))):
        mean = 11 - 6 * sin(2 * pi * (day.timetuple().tm_yday + 60) / 365)
        rows.append(f"{day},{mean + 4:.1f},{mean - 4:.1f},{3.0 if day.toordinal() % 3 == 0 else 0.0}")
    return "\n".join(rows) + "\n"


@pytest.fixture
def swardtide(tmp_path: Path) -> Installation:
    return Installation(tmp_path / "home")


@pytest.fixture
def begun(swardtide: Installation) -> Installation:
    answer = swardtide(*BEGIN)
    assert answer == Answer(
        0, "Tarnwhistle Turf is set up, with weather of Skerravane Mill (invented) from station-file.\n", ""
    )
    return swardtide


def test_help_loads_no_heavy_library(swardtide: Installation) -> None:
    answer = swardtide("--help")
    assert answer.code == 0
    assert "Is this installation sound?" in answer.out
    words = "import sys, frontends.commands.main; print(*sys.modules)"
    loaded = subprocess.run([sys.executable, "-c", words], capture_output=True, text=True, check=True)
    heavy = {"alembic", "apscheduler", "meteostat", "numpy", "pandas", "pyet", "scipy", "sqlalchemy"}
    assert heavy & set(loaded.stdout.split()) == set()


def test_before_anything_is_set_up_the_remedy_is_told(swardtide: Installation) -> None:
    answer = swardtide("visits")
    assert (answer.code, answer.out) == (2, "")
    assert answer.err == (
        "swardtide: the business 'business' is not known: set it up first: `swardtide clients begin`\n"
    )


def test_wrong_words_and_wrong_settings_exit_with_2(begun: Installation) -> None:
    assert begun("steps").code == 2
    assert begun("step", "all", "--on", "yesterday").code == 2
    assert "is not a day: write YYYY-MM-DD" in begun("step", "all", "--on", "yesterday").err
    wrong = subprocess.run(
        [COMMAND, "visits"],
        capture_output=True,
        text=True,
        env={**begun.environment, "SWARDTIDE_MAIL": "pigeon"},
        check=False,
    )
    assert (wrong.returncode, wrong.stdout) == (2, "")
    assert wrong.stderr == "swardtide: setting SWARDTIDE_MAIL is 'pigeon': choose folder or smtp\n"


def test_a_bad_client_file_is_refused_by_line_and_changes_nothing(begun: Installation) -> None:
    before = begun("clients", "list", "--json").out
    answer = begun("clients", "import", begun.write("bad.csv", BAD))
    assert (answer.code, answer.out) == (2, "")
    for told in (
        "client file: refused, nothing was changed.",
        "line 2, email: 'orla at clients'",
        "line 3, latitude: '153.9'",
        "line 4, zones: 'all 0'",
        "line 5, lawn: 'quakegrass' - it stands on line 4 already",
        "line 5, site: 'moon'",
        "line 5, texture: 'peat'",
        "line 5, zones: 'all 99000'",
    ):
        assert told in answer.err
    assert begun("clients", "list", "--json").out == before == "[]\n"


def test_a_client_file_that_is_not_there(begun: Installation) -> None:
    answer = begun("clients", "import", str(begun.home / "none.csv"))
    assert answer.code == 2
    assert "none.csv' is not known: check the path" in answer.err


def test_from_a_client_file_to_booked_visits_and_the_reasons(begun: Installation) -> None:
    taken_in = begun("clients", "import", begun.write("good.csv", GOOD), "--json")
    assert (taken_in.code, taken_in.json) == (0, {"lawns": 2})
    stations = begun.home / "stations"
    stations.mkdir()
    yesterday = now_utc().date() - timedelta(days=1)
    (stations / "mill.csv").write_text(invented_weather(yesterday))

    steps = begun("step", "all", "--json")
    assert steps.code == 0, steps.err
    assert [step["step"] for step in steps.json] == [
        "weather",
        "soil",
        "windows",
        "plan",
        "stock",
        "watering",
        "post",
    ]
    assert steps.json[0]["changed"] == 800
    again = begun("step", "all", "--json")
    assert {step["step"]: step["changed"] for step in again.json} == dict.fromkeys(
        [step["step"] for step in again.json], 0
    )

    visits = begun("visits", "--json").json
    surveys = {visit["lawn_key"]: visit["state"] for visit in visits if visit["kind"] == "survey"}
    assert surveys == {"sorrelby": "booked", "pimpernell": "booked"}

    why = begun("window", "sorrelby", "--json")
    assert why.code == 0
    assert why.json["sentences"][0] == "Sorrelby back (sorrelby): 150 m² on loam."
    assert "survey" in why.json["sentences"][1]
    assert begun("window", "nowhere").code == 2

    # One client has an address, the other none; before 07:00 local both messages wait.
    mails = sorted((begun.home / "mail").glob("*.eml"))
    owed, failed = begun("post", "owed", "--json").json, begun("post", "failed", "--json").json
    assert (len(mails), len(owed), len(failed)) in {(1, 0, 1), (0, 2, 0)}


def test_calendar_addresses_are_shown_again_and_withdrawn(begun: Installation) -> None:
    begun("clients", "import", begun.write("good.csv", GOOD))
    first = begun("clients", "address", "orla", "--json").json
    assert begun("clients", "address", "orla", "--json").json == first
    assert first["address"].startswith("http://127.0.0.1:8420/calendar/orla/")
    second = begun("clients", "address", "orla", "--new", "--json").json
    assert (first["version"], second["version"]) == (1, 2)
    assert first["address"] != second["address"]
    assert begun("clients", "address", "nobody").code == 2


def test_a_probe_reading_is_taken_in_once(begun: Installation) -> None:
    begun("clients", "import", begun.write("good.csv", GOOD))
    yesterday = (now_utc().date() - timedelta(days=1)).isoformat()
    words = ("probed", "sorrelby", "9.5", "--day", yesterday, "--at", "14:05", "--depth-cm", "8", "--in-sun")
    told = f"Recorded: 9.5 °C at 8 cm in sorrelby on {yesterday}, 14:05.\n"
    assert (begun(*words), begun(*words)) == (Answer(0, told, ""), Answer(0, told, ""))
    wrong = begun("probed", "sorrelby", "95", "--day", yesterday, "--at", "15:00")
    assert wrong.code == 2
    assert "probe reading of sorrelby: refused, nothing was changed" in wrong.err
    assert begun("probed", "sorrelby", "9.5", "--at", "noon").code == 2


def test_a_day_refused_and_water_given_are_taken_in_once(begun: Installation) -> None:
    begun("clients", "import", begun.write("good.csv", GOOD))
    ahead = (now_utc().date() + timedelta(days=30)).isoformat()
    told = f"Recorded: nobody on pimpernell on {ahead}.\n"
    assert [begun("refuse", "pimpernell", ahead) for _ in range(2)] == [Answer(0, told, "")] * 2
    assert begun("watered", "sorrelby", "6").code == 0
    assert begun("watered", "sorrelby", "600").code == 2
    assert begun("treated", "no-such-visit").code == 2
    assert begun("leave", "tam", "--reason", "moved away").code == 0


def test_a_dose_by_hand(swardtide: Installation) -> None:
    # Common practice: 150 m² takes 2 packs of 100 m² at the regular dose and 3 at double.
    packs = {
        season: swardtide("dose", "150", "--season", season, "--json").json["dose"]["packs"]
        for season in ("autumn", "spring")
    }
    assert packs == {"autumn": 2, "spring": 3}
    assert swardtide("dose", "0").code == 2


def test_a_checkup_says_what_is_missing_and_changes_nothing(swardtide: Installation) -> None:
    answer = swardtide("checkup")
    assert answer.code == 1
    assert "NO  database: there is none yet: `swardtide clients begin`" in answer.out
    assert not swardtide.home.exists()


def test_a_checkup_of_a_sound_installation(begun: Installation) -> None:
    stations = begun.home / "stations"
    stations.mkdir()
    (stations / "mill.csv").write_text(invented_weather(now_utc().date() - timedelta(days=1)))
    begun("step", "weather")
    answer = begun("checkup", "--json")
    assert {one["subject"]: one["sound"] for one in answer.json["findings"]} == dict.fromkeys(
        [
            "settings",
            "clock",
            "key of addresses",
            "database",
            "schema",
            "business",
            "weather of Skerravane Mill (invented)",
            "mail",
            "failed messages",
            "doubtful messages",
        ],
        True,
    )
    assert answer.code == 0


def test_a_step_for_a_day_ahead_is_refused(begun: Installation) -> None:
    answer = begun("step", "soil", "--on", "2999-01-01")
    assert answer.code == 2
    assert "lies ahead - give a day that has come" in answer.err
