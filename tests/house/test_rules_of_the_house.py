"""Rules that import contracts cannot see: one clock, one environment, no chance, short files."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
ROOMS = ("models", "scheduler", "notifiers", "frontends")
CLOCK_READS = {
    "datetime.now",
    "datetime.utcnow",
    "datetime.today",
    "date.today",
    "time.time",
    "pd.Timestamp.now",
    "Timestamp.now",
    "func.now",
}
ENVIRONMENT_READS = {"os.environ", "os.getenv", "environ.get"}
CHANCE = {"uuid.uuid4", "uuid4", "random.random", "random.choice", "random.shuffle", "secrets.choice"}


def _sources() -> list[Path]:
    return sorted(path for room in ROOMS for path in (ROOT / room).rglob("*.py"))


def _dotted_names(path: Path) -> Iterator[str]:
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.Attribute | ast.Name):
            yield ast.unparse(node)


def _using(forbidden: set[str], *, but: str = "") -> list[str]:
    names = {path.relative_to(ROOT).as_posix(): set(_dotted_names(path)) for path in _sources()}
    return [f"{path}: {name}" for path, used in names.items() if path != but for name in used & forbidden]


def test_only_the_clock_reads_the_clock() -> None:
    assert _using(CLOCK_READS, but="models/clock.py") == []


def test_only_the_settings_read_the_environment() -> None:
    assert _using(ENVIRONMENT_READS, but="frontends/settings.py") == []


def test_nothing_rests_on_chance() -> None:
    assert _using(CHANCE) == []


def test_files_are_short() -> None:
    lengths = {path.relative_to(ROOT).as_posix(): len(path.read_text().splitlines()) for path in _sources()}
    assert {path: lines for path, lines in lengths.items() if lines > 400 and "migrations" not in path} == {}


@pytest.mark.parametrize("requirements", ["requirements.txt", "requirements-dev.txt"])
def test_requirements_are_pinned_and_hashed_and_name_no_registry(requirements: str) -> None:
    text = (ROOT / requirements).read_text()
    pins = [line for line in text.splitlines() if line and not line.startswith((" ", "#"))]
    assert [pin for pin in pins if "==" not in pin] == []
    assert text.count("--hash=sha256:") >= len(pins)
    assert "://" not in text
