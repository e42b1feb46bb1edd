"""Seasons, window rules and windows."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum

from models.facts.place import Texture


class Pest(StrEnum):
    LEATHERJACKETS = "leatherjackets"
    CHAFERS = "chafers"


class Species(StrEnum):
    """Nematode species; the value is the usual abbreviated binomial."""

    S_FELTIAE = "S. feltiae"


class SeasonName(StrEnum):
    SPRING = "spring"
    AUTUMN = "autumn"


@dataclass(frozen=True, slots=True, order=True)
class Season:
    """Spring or autumn of a year. Its key sorts in time: "2024-1-spring", "2024-2-autumn"."""

    year: int
    name: SeasonName

    @property
    def key(self) -> str:
        return f"{self.year}-{1 if self.name is SeasonName.SPRING else 2}-{self.name}"

    @property
    def words(self) -> str:
        return f"{self.name} {self.year}"

    @staticmethod
    def parse(key: str) -> Season:
        """The season of a `key`; ValueError where it is none."""
        year, _, name = key.split("-")
        return Season(int(year), SeasonName(name))


@dataclass(frozen=True, slots=True, order=True)
class Span:
    """Days from `first` to `last`, both included."""

    first: date
    last: date

    def __post_init__(self) -> None:
        if self.last < self.first:
            raise ValueError(f"span ends {self.last} before it begins {self.first}")

    def __contains__(self, day: date) -> bool:
        return self.first <= day <= self.last

    def days(self) -> tuple[date, ...]:
        return tuple(self.first + timedelta(days=n) for n in range((self.last - self.first).days + 1))


@dataclass(frozen=True, slots=True)
class WindowRule:
    """When the calendar and the soil let a lawn be treated against `pest` with `species`.

    `opens` and `closes` are (month, day), both included; `limit_c` bounds the mean of the 10 cm soil
    over the `trailing_days` whole days before the day judged; `dose_factor` multiplies the regular dose.
    """

    pest: Pest
    species: Species
    season: SeasonName
    opens: tuple[int, int]
    closes: tuple[int, int]
    limit_c: float
    dose_factor: float
    trailing_days: int
    source: str

    def calendar(self, year: int) -> Span:
        return Span(date(year, *self.opens), date(year, *self.closes))


@dataclass(frozen=True, slots=True)
class Turn:
    """A day on which a window opened or shut, and the sentence that says why."""

    day: date
    is_open: bool
    reason: str


@dataclass(frozen=True, slots=True)
class Window:
    """What was decided, day by day, of one lawn's window in one season.

    `turns` alternate open and shut in order of days; `judged_to` is the last day decided (None: none
    yet); `reason` is today's sentence. A decided day is never decided again.
    """

    lawn_key: str
    pest: Pest
    species: Species
    season: Season
    turns: tuple[Turn, ...] = ()
    judged_to: date | None = None
    reason: str = ""

    @property
    def is_open(self) -> bool:
        return bool(self.turns) and self.turns[-1].is_open

    @property
    def spans(self) -> tuple[Span, ...]:
        """The stretches of open days decided so far."""
        found: list[Span] = []
        opened: date | None = None
        for turn in self.turns:
            if turn.is_open:
                opened = turn.day
            elif opened is not None:
                found.append(Span(opened, turn.day - timedelta(days=1)))
                opened = None
        if opened is not None and self.judged_to is not None:
            found.append(Span(opened, self.judged_to))
        return tuple(found)

    def was_open(self, day: date) -> bool:
        return any(day in span for span in self.spans)


@dataclass(frozen=True, slots=True)
class LikelyDay:
    """A day ahead with its 80 % range: one in ten comes before `earliest`, one in ten after `latest`.

    None stands for a day beyond the calendar: it may not come at all.
    """

    earliest: date | None
    likely: date | None
    latest: date | None

    @property
    def days(self) -> tuple[date | None, date | None, date | None]:
        return self.earliest, self.likely, self.latest


@dataclass(frozen=True, slots=True)
class Outlook:
    """Likely dates: for each calendar day of a window that lies ahead, the chance that it is open.

    Holds for lawns of one texture at one site; `years` past years it rests on; `reason` says so in words.
    `opening` is the first open day, `closing` the last (of the past years that open at all); both are
    None with too few past years. `lasting` is the chance of a day that the soil's mean stays at or above
    the limit for the ten days after it. `issued_on` is the morning whose knowledge it holds.
    """

    site_key: str
    texture: Texture
    pest: Pest
    season: Season
    chances: tuple[tuple[date, float], ...]
    years: int
    reason: str
    opening: LikelyDay | None = None
    closing: LikelyDay | None = None
    lasting: tuple[tuple[date, float], ...] = ()
    issued_on: date | None = None
