"""Asking a child process that can be ended: JSON in, JSON out."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Mapping
from typing import Any

from models.errors import WeatherUnavailable

KEEP = "what was stored is kept; the next run asks again"


def ask_child(source: str, module: str, question: Mapping[str, Any], timeout_s: float) -> dict[str, Any]:
    """What `python -m module` answers to `question` in `timeout_s` at most.

    WeatherUnavailable of `source` where it does not answer in time, dies, or answers `unavailable`.
    """
    try:
        child = subprocess.run(
            [sys.executable, "-m", module],
            input=json.dumps(question),
            capture_output=True,
            text=True,
            timeout=timeout_s,
            check=False,
        )
    except subprocess.TimeoutExpired as expired:
        what = f"no answer in {timeout_s:g} s, so it was ended"
        raise WeatherUnavailable(source, what, KEEP) from expired
    if child.returncode != 0:
        raise WeatherUnavailable(source, _last_line(child.stderr), KEEP)
    answer: dict[str, Any] = json.loads(child.stdout)
    if "unavailable" in answer:
        raise WeatherUnavailable(source, f"unknown: {answer['unavailable']}", KEEP)
    return answer


def _last_line(trouble: str) -> str:
    return trouble.strip().rpartition("\n")[2] or "it ended without a word"
