"""`swardtide soil` as people and machines meet it: in words, as values, and as a file."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path
from statistics import NormalDist
from xml.etree import ElementTree

import pytest

from models.clock import now_utc
from tests.frontends.test_commands import BEGIN, GOOD, Installation, invented_weather

YESTERDAY = now_utc().date() - timedelta(days=1)
GAP = (YESTERDAY - timedelta(days=6), YESTERDAY - timedelta(days=5))


@pytest.fixture(scope="module")
def estimated(tmp_path_factory: pytest.TempPathFactory) -> Installation:
    """Two lawns at one site, whose station has two days missing in the last week."""
    swardtide = Installation(tmp_path_factory.mktemp("soil") / "home")
    assert swardtide(*BEGIN).code == 0
    assert swardtide("clients", "import", swardtide.write("good.csv", GOOD)).code == 0
    stations = swardtide.home / "stations"
    stations.mkdir()
    lines = invented_weather(YESTERDAY).splitlines()
    kept = [line for line in lines if not line.startswith(tuple(str(day) for day in GAP))]
    (stations / "mill.csv").write_text("\n".join(kept) + "\n")
    for step in ("weather", "soil"):
        answer = swardtide("step", step)
        assert answer.code == 0, answer.err
    return swardtide


def test_the_last_week_in_words(estimated: Installation) -> None:
    answer = estimated("soil", "sorrelby")
    assert (answer.code, answer.err) == (0, "")
    lines = answer.out.splitlines()
    assert lines[0] == "Sorrelby back (sorrelby), weather site Skerravane Mill (invented) (mill)."
    assert lines[1].startswith("Soil at 10 cm: ")
    assert "(8 in 10: " in lines[1]
    assert lines[2].startswith("7-day mean before ")
    assert "; the limit of " in lines[2]
    assert lines[2].endswith(" is 10 °C.")
    days = [line for line in lines if line.startswith("  ")]
    assert [line.split()[0] for line in days] == [
        str(YESTERDAY - timedelta(days=back)) for back in range(6, -1, -1)
    ]
    assert ["across a gap of 2 days without weather" in line for line in days] == [True] * 2 + [False] * 5
    assert "Weather was missing on 2 of 7 days and was filled: their range is wider." in lines
    assert (
        "Weather data: station files for Skerravane Mill (invented); the terms of their owners hold." in lines
    )
    assert lines[-1] == "An estimate: the probe on the lawn decides on the day."


def test_values_for_machines(estimated: Installation) -> None:
    first = YESTERDAY - timedelta(days=29)
    value = estimated("soil", "--site", "mill", "--from", str(first), "--to", str(YESTERDAY), "--json").json
    assert (value["lawn"], value["site"], value["limit_c"], value["picture"]) == (None, "mill", 10.0, None)
    assert [day["day"] for day in value["days"]] == [str(first + timedelta(days=n)) for n in range(30)]
    assert [day["day"] for day in value["days"] if day["gap_days"]] == [str(day) for day in GAP]
    half = NormalDist().inv_cdf(0.9)  # the normal quantile that leaves one in ten on either side
    for day in value["days"]:
        ends = [day["mean_10cm_c"] - half * day["sd_c"], day["mean_10cm_c"] + half * day["sd_c"]]
        assert day["range_80_c"] == pytest.approx(ends, abs=1e-3)
    week = [day["mean_10cm_c"] for day in value["days"]][-7:]
    assert value["trailing_mean_c"] == pytest.approx(sum(week) / 7)


def test_the_picture_is_written_whole(estimated: Installation, tmp_path: Path) -> None:
    file = tmp_path / "soil.svg"
    answer = estimated("soil", "pimpernell", "--plot", str(file))
    assert answer.out.splitlines()[-1] == f"The picture is in {file}."
    title = ElementTree.parse(file).getroot()[0]
    assert title.text == "Soil at 10 cm, Pimpernell lawn"
    assert list(tmp_path.iterdir()) == [file]
    before = file.read_bytes()
    assert estimated("soil", "pimpernell", "--plot", str(file)).code == 0
    assert file.read_bytes() == before


def test_a_picture_that_cannot_be_written(estimated: Installation, tmp_path: Path) -> None:
    answer = estimated("soil", "sorrelby", "--plot", str(tmp_path / "none" / "soil.svg"))
    assert (answer.code, answer.out) == (2, "")
    assert "soil.svg: No such file or directory - name a file in a folder" in answer.err
    folder = tmp_path / "folder.svg"
    folder.mkdir()
    assert estimated("soil", "sorrelby", "--plot", str(folder)).code == 2
    assert list(tmp_path.iterdir()) == [folder]


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ((), "name a lawn, or a site with --site"),
        (("sorrelby", "--site", "mill"), "name a lawn, or a site with --site"),
        (("nowhere",), "lawn 'nowhere' is not known"),
        (("--site", "nowhere"), "site 'nowhere' is not known"),
        (("sorrelby", "--from", "spring"), "'spring' is not a day"),
        (("sorrelby", "--from", "2026-02-01", "--to", "2026-01-01"), "2026-01-01 lies before 2026-02-01"),
    ],
)
def test_wrong_words(estimated: Installation, words: tuple[str, ...], told: str) -> None:
    answer = estimated("soil", *words)
    assert (answer.code, answer.out) == (2, "")
    assert told in " ".join(answer.err.replace("│", " ").split())


def test_days_without_any_estimate_are_said(estimated: Installation) -> None:
    answer = estimated("soil", "sorrelby", "--from", "1990-01-01", "--to", "1990-02-01")
    assert answer.code == 0
    assert "There is no estimate for these days" in answer.out
