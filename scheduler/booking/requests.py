"""From the season's facts to a booking problem: which visits need a day now, and what each day is worth."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cached_property
from types import MappingProxyType

from models.facts.place import Lawn, Texture
from models.facts.rules import BookingRules, Business
from models.facts.season import Outlook, Pest, Season, Window
from models.facts.work import Programme, Refusal, Visit, VisitKind, VisitState
from models.units import day_words
from scheduler.booking.problem import Problem, Request, Stop

OPEN_LASTS_DAYS = 7  # a window open today counts as likely open for a week (engineering choice) ...
OPEN_LASTS_CHANCE = 0.85  # ... with at least this chance
SHUT_LASTS_DAYS = 2  # and one shut today as shut for this long: persistence as forecast
CLOSING_DAYS = 10  # so near the end of its calendar a visit that fell through may come at short notice
SHORT_NOTICE_DAYS = 1
ANY_DAY: Mapping[date, float] = MappingProxyType({})


@dataclass(frozen=True)
class SeasonFacts:
    """All that booking looks at. `visits` are those of the running programmes, ended ones included."""

    visits: Sequence[Visit]
    programmes: Sequence[Programme]
    lawns: Mapping[str, Lawn]
    refusals: Sequence[Refusal]
    windows: Sequence[Window]
    outlooks: Sequence[Outlook]

    @cached_property
    def pests(self) -> Mapping[str, Pest]:
        return {programme.key: programme.pest for programme in self.programmes}

    @cached_property
    def refused(self) -> Mapping[str, frozenset[date]]:
        days: dict[str, set[date]] = defaultdict(set)
        for refusal in self.refusals:
            days[refusal.lawn_key].add(refusal.day)
        return {lawn_key: frozenset(refused) for lawn_key, refused in days.items()}

    @cached_property
    def window_of(self) -> Mapping[tuple[str, Pest, Season], Window]:
        return {(window.lawn_key, window.pest, window.season): window for window in self.windows}

    @cached_property
    def outlook_of(self) -> Mapping[tuple[str, Texture, Pest, Season], Outlook]:
        return {(o.site_key, o.texture, o.pest, o.season): o for o in self.outlooks}

    def window(self, visit: Visit) -> Window | None:
        return self.window_of.get((visit.lawn_key, self.pests[visit.programme_key], visit.season))

    def place_of(self, visit: Visit) -> tuple[str, Texture, Pest, Season]:
        """What likely dates are known by."""
        lawn = self.lawns[visit.lawn_key]
        return lawn.site_key, lawn.texture, self.pests[visit.programme_key], visit.season

    def outlook(self, visit: Visit) -> Outlook | None:
        return self.outlook_of.get(self.place_of(visit))


def due_visits(visits: Iterable[Visit], today: date, rules: BookingRules) -> tuple[Visit, ...]:
    """Visits that booking has to do with: booked after today, or owed and time to give out days.

    A treatment waits until no survey of its programme is open.
    """
    still_open = [visit for visit in visits if visit.is_open]
    unsurveyed = {visit.programme_key for visit in still_open if visit.kind is VisitKind.SURVEY}
    return tuple(
        visit
        for visit in still_open
        if _is_booked_ahead(visit, today) or _is_owed_now(visit, today, rules, unsurveyed)
    )


def pose(facts: SeasonFacts, today: date, business: Business) -> Problem:
    """The booking problem of this morning. Days within notice that hold are fixed stops."""
    rules = business.rules.booking
    chances, due = _Chances(facts, today), due_visits(facts.visits, today, rules)
    requests = [_request(visit, facts, chances, today, rules) for visit in due]
    notice_ends = today + timedelta(days=rules.notice_days)
    stops = {stop.visit_key: stop for request in requests for stop in _stands(request, notice_ends)}
    return Problem(
        today=today,
        requests=tuple(request for request in requests if request.visit_key not in stops),
        fixed=tuple(stops.values()),
        base=business.base,
        rules=rules,
    )


def _stands(request: Request, notice_ends: date) -> tuple[Stop, ...]:
    """The stop that a request is, where its day holds and is too near to be moved at will."""
    if request.present is None or not request.holds or request.present >= notice_ends:
        return ()
    return (Stop(request.visit_key, request.present, request.minutes, request.position),)


def _is_booked_ahead(visit: Visit, today: date) -> bool:
    return visit.state is VisitState.BOOKED and visit.day is not None and visit.day > today


def _is_owed_now(visit: Visit, today: date, rules: BookingRules, unsurveyed: set[str]) -> bool:
    if visit.state is not VisitState.OWED:
        return False
    if visit.kind is VisitKind.TREATMENT and visit.programme_key in unsurveyed:
        return False
    seen = min(visit.allowed.last, visit.allowed.first + timedelta(days=rules.choice_days))
    return seen <= today + timedelta(days=rules.horizon_days)


def _request(
    visit: Visit, facts: SeasonFacts, chances: _Chances, today: date, rules: BookingRules
) -> Request:
    refused = facts.refused.get(visit.lawn_key, frozenset())
    window = facts.window(visit) if visit.kind is VisitKind.TREATMENT else None
    is_open = _open_today(window, today)
    return Request(
        visit_key=visit.key,
        kind=visit.kind,
        allowed=visit.allowed,
        minutes=visit.minutes,
        position=facts.lawns[visit.lawn_key].position,
        chances=chances.of(visit, is_open),
        refused=refused,
        notice_days=_notice(visit, today, rules, is_open),
        present=visit.day if visit.state is VisitState.BOOKED else None,
        because=_because(visit, refused, window, is_open, today, rules),
    )


def _open_today(window: Window | None, today: date) -> bool | None:
    """Whether today was decided open; None where today is not decided, as before the calendar begins."""
    if window is None or window.judged_to is None or window.judged_to < today:
        return None
    return window.was_open(today)


class _Chances:
    """The chance of each day ahead: past years, corrected by what today says of the days next to it.

    Lawns of one site and texture share them, so each is worked out once.
    """

    def __init__(self, facts: SeasonFacts, today: date) -> None:
        self.facts = facts
        self.today = today
        self._known: dict[tuple[object, ...], Mapping[date, float]] = {}

    def of(self, visit: Visit, is_open: bool | None) -> Mapping[date, float]:
        if visit.kind is not VisitKind.TREATMENT:
            return ANY_DAY
        begun = visit.allowed.first <= self.today
        key = (*self.facts.place_of(visit), is_open, begun)
        if key not in self._known:
            self._known[key] = self._work_out(self.facts.outlook(visit), is_open, begun)
        return self._known[key]

    def _work_out(self, outlook: Outlook | None, is_open: bool | None, begun: bool) -> Mapping[date, float]:
        chances = {day: chance for day, chance in (outlook.chances if outlook else ()) if day > self.today}
        if is_open:
            for day in _next_days(self.today, OPEN_LASTS_DAYS):
                chances[day] = max(chances.get(day, 0.0), OPEN_LASTS_CHANCE)
        elif is_open is False and begun:
            chances |= dict.fromkeys(_next_days(self.today, SHUT_LASTS_DAYS), 0.0)
        return chances


def _next_days(today: date, count: int) -> tuple[date, ...]:
    return tuple(today + timedelta(days=ahead) for ahead in range(1, count + 1))


def _notice(visit: Visit, today: date, rules: BookingRules, is_open: bool | None) -> int:
    """Notice in days. A treatment that had a day before may come sooner while its season runs out."""
    had_a_day, days_left = visit.revision > 1, (visit.allowed.last - today).days
    if had_a_day and is_open and days_left <= CLOSING_DAYS:
        return SHORT_NOTICE_DAYS
    return rules.notice_days


def _because(
    visit: Visit,
    refused: frozenset[date],
    window: Window | None,
    is_open: bool | None,
    today: date,
    rules: BookingRules,
) -> str:
    """Why a booked day cannot hold, or why an owed visit that had a day lost it; empty: nothing."""
    if visit.day is None:
        return visit.reason if visit.revision > 1 else ""
    words = day_words(visit.day)
    if visit.day in refused:
        return f"{words} is refused by the client"
    if visit.day.weekday() not in rules.working_weekdays:
        return f"{words} is no working day any more"
    shut = is_open is False and visit.allowed.first <= today
    if window is not None and shut and (visit.day - today).days == 1:
        return f"a day before the treatment of {words} the window is {window.reason}"
    return ""
