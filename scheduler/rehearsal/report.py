"""What a rehearsal came to, counted from the records themselves."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from models.agronomy.judging import soil_opening, spring_has_gap
from models.facts.rules import BusinessRules
from models.facts.season import Season, Span, Window
from models.facts.work import ProgrammeState, Treatment, Visit, VisitKind
from models.store.engine import Store
from models.store.people import load_business
from models.store.post import load_messages
from models.store.programmes import load_programmes
from models.store.soil import load_soil_days
from models.store.stock import load_batches
from models.store.visits import load_visits
from models.store.windows import load_windows
from models.store.work import load_treatments

Means = Mapping[date, float]

SEASONAL = (VisitKind.TREATMENT, VisitKind.COUNT)


@dataclass(frozen=True, slots=True)
class SeasonLine:
    lawn: str
    season: str
    spans: tuple[Span, ...]
    reason: str


@dataclass(frozen=True, slots=True)
class OpeningLine:
    """One site-spring's `soil_opening` by estimate and by measurement; None: none, or a gap."""

    site: str
    year: int
    estimated: date | None
    measured: date | None


@dataclass(frozen=True, slots=True)
class Report:
    first: date
    last: date
    lawns: int
    windows: tuple[SeasonLine, ...]
    treatments: int
    outside_window: int
    packs_bought: int
    packs_used: int
    packs_wasted: int
    messages: Mapping[str, int]
    soil_opening: tuple[OpeningLine, ...]

    def for_machines(self, seconds: float) -> dict[str, object]:
        """JSON values in the agreed shape."""
        return {
            "from": self.first.isoformat(),
            "to": self.last.isoformat(),
            "lawns": self.lawns,
            "seconds": round(seconds, 1),
            "windows": [
                {"lawn": line.lawn, "season": line.season, "spans": _spans(line.spans), "reason": line.reason}
                for line in self.windows
            ],
            "treatments": self.treatments,
            "outside_window": self.outside_window,
            "packs": {"bought": self.packs_bought, "used": self.packs_used, "wasted": self.packs_wasted},
            "messages": dict(sorted(self.messages.items())),
            "soil_opening": [
                {
                    "site": line.site,
                    "year": line.year,
                    "estimated": _iso(line.estimated),
                    "measured": _iso(line.measured),
                }
                for line in self.soil_opening
            ],
        }


def report(store: Store, first: date, last: date, measured: Mapping[str, Means]) -> Report:
    """The report on the days from `first` to `last`; `measured`: daily soil at 10 cm, °C, by site key."""
    with store.read() as connection:
        programmes = load_programmes(connection, tuple(ProgrammeState))
        windows = load_windows(connection)
        treatments = load_treatments(connection)
        batches = load_batches(connection)
        visits = load_visits(connection)
        business = load_business(connection)
        messages = Counter(kept.message.kind.value for kept in load_messages(connection))
    used = sum(pack.packs for treatment in treatments for pack in treatment.packs)
    return Report(
        first=first,
        last=last,
        lawns=len({programme.lawn_key for programme in programmes}),
        windows=_season_lines(windows, visits, business.rules, first, last),
        treatments=len(treatments),
        outside_window=sum(not _inside(treatment, windows) for treatment in treatments),
        packs_bought=sum(batch.packs for batch in batches),
        packs_used=used,
        packs_wasted=sum(batch.left for batch in batches if batch.best_before < last),
        messages=messages,
        soil_opening=_openings(store, first, last, measured),
    )


def _inside(treatment: Treatment, windows: Sequence[Window]) -> bool:
    """By the turns alone: the last turn up to the day opened, and the day was decided."""
    for window in windows:
        turns = [turn for turn in window.turns if turn.day <= treatment.day]
        decided = window.judged_to is not None and treatment.day <= window.judged_to
        same_year = window.season.year == treatment.day.year
        if window.lawn_key == treatment.lawn_key and same_year and decided and turns and turns[-1].is_open:
            return True
    return False


def _season_lines(
    windows: Sequence[Window], visits: Sequence[Visit], rules: BusinessRules, first: date, last: date
) -> tuple[SeasonLine, ...]:
    """One line for each lawn and season of its programme whose calendar lies within the days."""
    judged = [window for window in windows if window.judged_to is not None]
    lines = {(window.lawn_key, window.season): _judged(window) for window in judged}
    for visit in visits:
        if visit.kind in SEASONAL and _came(visit.season, rules, first, last):
            # A lawn that left, or joined too late, was never judged; its visit says why.
            line = SeasonLine(visit.lawn_key, visit.season.words, (), visit.reason)
            lines.setdefault((visit.lawn_key, visit.season), line)
    return tuple(lines[key] for key in sorted(lines, key=lambda key: (key[0], key[1].key)))


def _came(season: Season, rules: BusinessRules, first: date, last: date) -> bool:
    calendars = [rule.calendar(season.year) for rule in rules.windows if rule.season is season.name]
    return any(calendar.first <= last and calendar.last >= first for calendar in calendars)


def _judged(window: Window) -> SeasonLine:
    opened = next((turn for turn in window.turns if turn.is_open), None)
    reason = window.reason if opened is None else opened.reason
    return SeasonLine(window.lawn_key, window.season.words, window.spans, reason)


def _openings(
    store: Store, first: date, last: date, measured: Mapping[str, Means]
) -> tuple[OpeningLine, ...]:
    """Springs whose whole search, 1 March to 15 June, lies within the days."""
    with store.read() as connection:
        soil = load_soil_days(connection, sorted(measured), first - timedelta(days=7), last)
    years = [
        year
        for year in range(first.year, last.year + 1)
        if first <= date(year, 3, 1) and date(year, 6, 15) <= last
    ]
    lines = []
    for site, days in sorted(soil.items()):
        estimated = {day.day: day.mean_10cm_c for day in days}
        lines += [
            OpeningLine(site, year, _opening(estimated, year), _opening(measured[site], year))
            for year in years
        ]
    return tuple(lines)


def _opening(means_c: Means, year: int) -> date | None:
    return None if spring_has_gap(means_c, year) else soil_opening(means_c, year)


def _spans(spans: Sequence[Span]) -> list[list[str]]:
    return [[span.first.isoformat(), span.last.isoformat()] for span in spans]


def _iso(day: date | None) -> str | None:
    return None if day is None else day.isoformat()
