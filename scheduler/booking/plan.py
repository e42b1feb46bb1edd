"""What a solver answers: a day and its reason for each visit, or why there is none."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True, slots=True)
class Placement:
    day: date
    reason: str


@dataclass(frozen=True, slots=True)
class Unplaced:
    """`why` is for the client too; `remedy` names what would make room, for the business."""

    why: str
    remedy: str

    def __str__(self) -> str:
        return f"{self.why}; {self.remedy} would make room"


@dataclass(frozen=True, slots=True)
class Plan:
    """By visit key."""

    placed: Mapping[str, Placement]
    unplaced: Mapping[str, Unplaced]
