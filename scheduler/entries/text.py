"""Text that people type: one line, printable, not endless."""

from __future__ import annotations

import math
import unicodedata
from functools import lru_cache
from zoneinfo import available_timezones

from models.errors import Fault, RefusedInput

LONGEST = 200


def line_faults(where: str, text: str, *, may_be_empty: bool = False) -> tuple[Fault, ...]:
    """What keeps `text` from being stored as one printable line.

    Control characters, line breaks and marks that turn the direction of writing could forge the head of
    a mail or hide words on a page.
    """
    found: list[Fault] = []
    if any(unicodedata.category(character)[0] == "C" for character in text) or _breaks(text):
        found.append(Fault(where, repr(text), "write it in one line without control characters"))
    if len(text) > LONGEST:
        found.append(Fault(where, f"{len(text)} characters", f"say it in {LONGEST} at most"))
    if not text.strip() and not may_be_empty:
        found.append(Fault(where, repr(text), "write something"))
    return tuple(found)


def require_line(subject: str, where: str, text: str) -> None:
    """RefusedInput where `text` is empty or no printable line."""
    if faults := line_faults(where, text):
        raise RefusedInput(subject, faults)


def is_number(value: float, low: float, high: float) -> bool:
    """Whether `value` is a finite number from `low` to `high`."""
    return math.isfinite(value) and low <= value <= high


def _breaks(text: str) -> bool:
    return any(unicodedata.category(character) in ("Zl", "Zp") for character in text)


@lru_cache(maxsize=1)
def time_zones() -> frozenset[str]:
    """The names of all time zones known here; looking them up walks many folders."""
    return frozenset(available_timezones())
