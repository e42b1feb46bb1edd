"""The demo's replay as a person runs it: what it tells, and what it leaves."""

from __future__ import annotations

import re
import subprocess
import sys
from dataclasses import dataclass
from datetime import date
from email import message_from_bytes, policy
from pathlib import Path

import pytest

from frontends.commands.demo import FIXTURES
from frontends.commands.rehearsing import mail_folder, open_home
from models.facts.work import VisitKind, VisitState
from models.store.people import load_lawns, load_sites
from models.store.visits import load_visits
from models.store.windows import load_windows
from models.store.work import load_treatments


@dataclass(frozen=True)
class Replayed:
    home: Path
    told: str

    def part(self, heading: str) -> list[str]:
        """The sentences below a heading."""
        lines = self.told.splitlines()
        below = lines[lines.index(heading) + 1 :]
        return [line.strip() for line in below[: below.index("") if "" in below else None]]


def run_demo(home: Path) -> str:
    command = [sys.executable, "-m", "frontends.commands.main", "demo", "--once", "--home", str(home)]
    ran = subprocess.run(command, capture_output=True, text=True, check=False)
    assert ran.returncode == 0, ran.stderr
    assert ran.stderr == ""  # no progress where nobody looks at it
    return ran.stdout


@pytest.fixture(scope="module")
def replayed(tmp_path_factory: pytest.TempPathFactory) -> Replayed:
    home = tmp_path_factory.mktemp("demo")
    return Replayed(home, run_demo(home))


def test_it_says_that_all_is_invented_and_what_to_open(replayed: Replayed) -> None:
    assert replayed.told.splitlines()[0].endswith("Everything here is invented.")
    season, calendar, mail = replayed.part("Open")
    assert season.split() == ["the", "season", "http://127.0.0.1:8420/"]
    assert re.search(r"http://127\.0\.0\.1:8420/calendar/[a-z]+/[A-Za-z0-9_-]{20,}\.ics", calendar)
    assert mail.split()[-1] == str(mail_folder(replayed.home))
    with open_home(replayed.home) as store, store.read() as connection:
        assert all("(invented)" in site.name for site in load_sites(connection))


def test_windows_open_and_shut_with_their_reasons(replayed: Replayed) -> None:
    windows = replayed.part("Windows")

    for site in ("Skerravane Strand", "Skerravane Mill", "Skerravane Top"):
        for season in ("Autumn 2024", "Spring 2025"):
            assert any(line.startswith(f"{season}, {site} (invented)") for line in windows)
    assert all("opened on" in line and "it needs 10 °C" in line for line in windows)
    assert any("drought-dormant" in line for line in windows)  # the dry September, on sand
    assert any("Oxlipman" in line and "waterlogged" in line for line in windows)  # the wet October, on clay


def test_every_treatment_lies_in_an_open_window_of_its_lawn(replayed: Replayed) -> None:
    with open_home(replayed.home) as store, store.read() as connection:
        treatments, windows = load_treatments(connection), load_windows(connection)

    assert len(treatments) >= 15
    for treatment in treatments:
        spans = [span for window in windows if window.lawn_key == treatment.lawn_key for span in window.spans]
        assert any(span.first <= treatment.day <= span.last for span in spans), treatment


def test_lawns_show_their_traits(replayed: Replayed) -> None:
    not_treated, missed = replayed.part("Not treated that day"), replayed.part("Missed")

    again = [line for line in not_treated if "Booked again, and treated" in line]
    assert any(line.startswith("Fallowby, behind the gate:") and "gate was locked" in line for line in again)
    assert any(line.startswith("Oxlipman, lower lawn:") and "stood in water" in line for line in again)
    assert any(line.startswith("Gorsewell, south lawn:") and "drought-dormant" in line for line in again)
    assert any(line.startswith("Harrowmint, top lawn: No treatment in autumn 2024") for line in missed)
    rescued = next(
        line for line in replayed.part("Spring rescues") if line.startswith("Harrowmint, top lawn")
    )
    # Common practice: packs of 100 m2, double dose in spring: 160 m2 take 4.
    assert "4 packs on 160 m²" in rescued
    clients = " ".join(replayed.part("Clients"))
    assert "Cloverdane, orchard lawn: nobody was to come on" in clients
    assert "Maren Birkwhistle left" in clients
    assert any("telephone" in line for line in replayed.part("Mail"))


def test_a_lawn_of_150_m2_takes_two_packs_in_autumn(replayed: Replayed) -> None:
    with open_home(replayed.home) as store, store.read() as connection:
        areas = {lawn.key: lawn.area_m2 for lawn in load_lawns(connection)}
        autumn = [t for t in load_treatments(connection) if t.day < date(2025, 1, 1)]
        visits = load_visits(connection)

    packs = {treatment.lawn_key: sum(used.packs for used in treatment.packs) for treatment in autumn}
    # Common practice: whole packs of 100 m2 a lawn.
    assert (areas["nettlestane-new"], packs["nettlestane-new"]) == (150, 2)
    # Two zones at one rate, 80 and 160 m2.
    assert (areas["sorrelby-both"], packs["sorrelby-both"]) == (240, 3)
    counts = [visit for visit in visits if visit.kind is VisitKind.COUNT and visit.season.year == 2025]
    assert len([visit for visit in counts if visit.state is VisitState.DONE]) >= 14


def test_mail_is_for_invented_people_and_tells_litres_without_minutes_where_there_is_no_tap(
    replayed: Replayed,
) -> None:
    mails = [
        message_from_bytes(path.read_bytes(), policy=policy.default)
        for path in sorted(mail_folder(replayed.home).iterdir())
    ]

    assert len(mails) > 100
    # RFC 2606, section 2: ".example" belongs to nobody.
    assert all(str(mail["To"]).rstrip(">").endswith(".example") for mail in mails)
    watering = [
        mail for mail in mails if "pimpernell" in str(mail["To"]) and "water" in str(mail["Subject"]).lower()
    ]
    bodies = [mail.get_body(("plain",)) for mail in watering]
    texts = [body.get_content() for body in bodies if body is not None]
    assert texts
    assert any("litres" in text for text in texts)


def test_run_again_it_tells_the_same_and_sends_nothing_twice(replayed: Replayed) -> None:
    before = {path.name: path.read_bytes() for path in mail_folder(replayed.home).iterdir()}

    assert run_demo(replayed.home) == replayed.told
    assert {path.name: path.read_bytes() for path in mail_folder(replayed.home).iterdir()} == before


def test_the_fixture_says_that_it_is_invented() -> None:
    words = (FIXTURES / "README.md").read_text(encoding="utf-8")

    assert "Everything here is invented" in words
