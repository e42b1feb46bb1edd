"""Programmes, visits and what was really done at them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum

from models.facts.season import Pest, Season, Span, Species


class ProgrammeState(StrEnum):
    ACTIVE = "active"
    FINISHED = "finished"
    ENDED = "ended"


@dataclass(frozen=True, slots=True)
class Programme:
    """A lawn's plan against one pest over `years` from `starts_on`."""

    key: str
    lawn_key: str
    pest: Pest
    species: Species
    starts_on: date
    years: int
    state: ProgrammeState = ProgrammeState.ACTIVE
    reason: str = ""

    @staticmethod
    def key_for(lawn_key: str, pest: Pest, starts_on: date) -> str:
        return f"{lawn_key}/{pest}/{starts_on.year}"


class VisitKind(StrEnum):
    SURVEY = "survey"
    TREATMENT = "treatment"
    FOLLOW_UP = "follow-up check"
    COUNT = "late-winter count"


class VisitState(StrEnum):
    """Owed: no day yet. Booked: a day the client knows. The rest are endings, each with its reason."""

    OWED = "owed"
    BOOKED = "booked"
    DONE = "done"
    NOT_NEEDED = "not needed"
    MISSED = "missed"
    CALLED_OFF = "called off"


OPEN_STATES = (VisitState.OWED, VisitState.BOOKED)


@dataclass(frozen=True, slots=True)
class Visit:
    """One attendance. `key` stays for life; each change of day or state raises `revision` by one.

    `allowed` bounds its day; `packs` is planned (0 where it is no treatment); `reason` says why it is
    owed, why this day, or why it ended; `changed_at` is when the present revision was decided.
    """

    key: str
    programme_key: str
    lawn_key: str
    season: Season
    kind: VisitKind
    allowed: Span
    minutes: int
    packs: int
    state: VisitState
    day: date | None
    revision: int
    reason: str
    changed_at: datetime

    @staticmethod
    def key_for(programme_key: str, season: Season, kind: VisitKind, ordinal: int = 1) -> str:
        return f"{programme_key}/{season.key}/{kind.replace(' ', '-')}/{ordinal}"

    @property
    def is_open(self) -> bool:
        return self.state in OPEN_STATES


@dataclass(frozen=True, slots=True)
class PacksUsed:
    batch_key: str
    packs: int


@dataclass(frozen=True, slots=True)
class Treatment:
    """What was really done at a treatment visit."""

    visit_key: str
    lawn_key: str
    day: date
    area_m2: float
    dose_factor: float
    packs: tuple[PacksUsed, ...]
    probe_c: float | None
    wash_in_mm: float
    recorded_at: datetime


@dataclass(frozen=True, slots=True)
class GrubCount:
    """Grubs found in samples of known area, by a named method."""

    visit_key: str
    lawn_key: str
    day: date
    method: str
    sample_area_m2: float
    found: tuple[int, ...]
    recorded_at: datetime

    @property
    def density_per_m2(self) -> float:
        return sum(self.found) / (len(self.found) * self.sample_area_m2)


@dataclass(frozen=True, slots=True)
class Refusal:
    """A day on which a client will not have anyone on a lawn."""

    lawn_key: str
    day: date
    recorded_at: datetime


@dataclass(frozen=True, slots=True)
class Watering:
    """Water that a client says was given to a lawn on a day."""

    lawn_key: str
    day: date
    depth_mm: float
    recorded_at: datetime


@dataclass(frozen=True, slots=True)
class WateringDay:
    """One day of the fortnight after a treatment: the top soil's account as of that morning.

    `deficit_mm` is what is missing after the day before; `advice_mm` is 0 when nothing is asked.
    `rain_mm`, `turf_et_mm` and `watered_mm` are those of the day before, on which it rests.
    """

    visit_key: str
    lawn_key: str
    day: date
    rain_mm: float
    turf_et_mm: float
    watered_mm: float
    deficit_mm: float
    capacity_mm: float
    advice_mm: float
    advice_litres: float
    advice_minutes: float | None
    reason: str
    weather_revision: int
