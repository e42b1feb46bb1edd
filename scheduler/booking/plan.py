"""What a solver answers: a day and its reason for each visit, or a sentence why there is none."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True, slots=True)
class Placement:
    day: date
    reason: str


@dataclass(frozen=True, slots=True)
class Plan:
    """By visit key. `unplaced` names what would make room."""

    placed: Mapping[str, Placement]
    unplaced: Mapping[str, str]
