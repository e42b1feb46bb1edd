"""What the season page shows, as plain facts."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum

from models.facts.place import Client, Lawn, Site
from models.facts.post import MessageKind, MessageState
from models.facts.rules import Business
from models.facts.season import Pest, Season, Span, Window
from models.facts.stock import Batch, PackOrder
from models.facts.weather import SoilDay, WeatherCredit
from models.facts.work import Programme, Visit, WateringDay


class Standing(StrEnum):
    """How a lawn's window stands today."""

    OPEN = "open"
    SHUT = "shut"
    AHEAD = "lies ahead"


@dataclass(frozen=True, slots=True)
class WindowView:
    """The window of the present season, or of the next one; `likely` None: no likely day is known.

    `likely_from` is the day from which its likely dates are worked out.
    """

    season: Season
    pest: Pest
    calendar: Span
    standing: Standing
    reason: str
    judged_to: date | None
    likely: Span | None
    likely_reason: str  # empty: not worked out yet
    likely_from: date


@dataclass(frozen=True, slots=True)
class SeasonLine:
    """What one season of a programme holds; `window` None: it was never judged."""

    season: Season
    visits: tuple[Visit, ...]
    window: Window | None


@dataclass(frozen=True, slots=True)
class LawnView:
    lawn: Lawn
    client: Client
    site: Site
    programme: Programme | None
    window: WindowView | None
    last_season: SeasonLine | None
    next_visit: Visit | None
    seasons: tuple[SeasonLine, ...]
    water: WateringDay | None
    soil: SoilDay | None  # the newest estimate of its site


@dataclass(frozen=True, slots=True)
class DayView:
    """One day's booked visits, each with the name of its lawn and of its client."""

    day: date
    visits: tuple[tuple[Visit, LawnView], ...]

    @property
    def minutes(self) -> int:
        return sum(visit.minutes for visit, _ in self.visits)


@dataclass(frozen=True, slots=True)
class PostLine:
    """Messages to one reader that stand alike. `reader` is a name; `kinds` are counted."""

    reader: str
    state: MessageState
    trouble: str
    kinds: tuple[tuple[MessageKind, int], ...]


@dataclass(frozen=True, slots=True)
class SeasonView:
    business: Business
    now: datetime
    today: date
    lawns: tuple[LawnView, ...]
    days: tuple[DayView, ...]
    batches: tuple[Batch, ...]
    orders: tuple[PackOrder, ...]
    post: tuple[PostLine, ...]
    sites: tuple[Site, ...]
    credits: tuple[WeatherCredit, ...] = ()

    @property
    def drying(self) -> tuple[LawnView, ...]:
        """Lawns in the fortnight after a treatment, the driest first."""
        treated = [(view.water.deficit_mm, view) for view in self.lawns if view.water is not None]
        return tuple(view for _, view in sorted(treated, key=lambda one: (-one[0], one[1].lawn.key)))

    @property
    def open_windows(self) -> int:
        return sum(1 for lawn in self.lawns if lawn.window and lawn.window.standing is Standing.OPEN)

    @property
    def packs_in_date(self) -> int:
        return sum(batch.left for batch in self.batches if batch.best_before >= self.today)

    @property
    def messages(self) -> int:
        return sum(many for line in self.post for _, many in line.kinds)
