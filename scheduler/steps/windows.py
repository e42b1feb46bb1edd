"""The `windows` step: decide each lawn's window for today, and likely dates of seasons that lie ahead."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta

from models.agronomy.readings import OwnSoil, own_soil
from models.clock import local_day
from models.facts.place import Texture
from models.facts.readings import OwnGround
from models.facts.rules import Business, BusinessRules
from models.facts.season import Outlook, Season, Span, Window, WindowRule
from models.facts.step import Outcome
from models.facts.weather import SoilDay
from models.store.engine import Connection, Store
from models.store.ledger import claim_revision, revision_of
from models.store.people import load_business
from models.store.readings import load_own_grounds
from models.store.soil import load_soil_days
from models.store.windows import (
    WINDOW_BOOK,
    JudgedLawn,
    lawns_behind,
    lawns_to_close,
    lawns_without_window,
    load_windows,
    save_outlooks,
    save_windows,
)
from scheduler.steps.again import again_if_stale
from scheduler.steps.likely import AHEAD_DAYS, PastCourses, look_ahead, news_of
from scheduler.windows.finder import extend
from scheduler.windows.outlook import LASTING_DAYS, season_span

DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class SeasonWork:
    """What one season needs today: its undecided lawns, their windows, and soil days by site.

    `own` is what those lawns' soil rests on that differ from their site, by lawn.
    """

    rule: WindowRule
    season: Season
    lawns: tuple[JudgedLawn, ...]
    windows: Mapping[str, Window]
    soil: Mapping[str, tuple[SoilDay, ...]]
    own: Mapping[str, OwnGround]

    @property
    def calendar(self) -> Span:
        return self.rule.calendar(self.season.year)


class JudgeWindows:
    """Decides what is undecided; where nothing is, it asks a question or two and writes nothing."""

    name = "windows"

    def __init__(self, store: Store) -> None:
        self.store = store
        self._courses = PastCourses()

    def run(self, now: datetime) -> Outcome:
        return again_if_stale(lambda: self._run(now))

    def _run(self, now: datetime) -> Outcome:
        with self.store.read() as connection:
            business = load_business(connection)
            today = local_day(now, business.time_zone)
            seasons = list(_seasons(business.rules.windows, today))
            works = [work for each in seasons if (work := _work(connection, *each, now, business))]
            soil = {(work.rule, work.season): work.soil for work in works if today in work.calendar}
            ahead = [
                one
                for each in seasons
                if (one := look_ahead(connection, *each, today, self._courses, soil.get(each, {})))
            ]
            read = revision_of(connection, WINDOW_BOOK) if works or ahead else 0
        outlooks = [one for season in ahead for one in news_of(season, today, business.rules)]
        own = {work.season: _own_soils(work, today) for work in works}
        windows = [
            window for work in works for window in _judged(work, own[work.season], today, business.rules)
        ]
        if windows or outlooks:
            self._save(read, windows, outlooks)
        said = (*_said(windows, outlooks, today), *_set_aside(own.values(), now))
        return Outcome(len(windows) + len(outlooks), said)

    def _save(self, read: int, windows: Sequence[Window], outlooks: Sequence[Outlook]) -> None:
        with self.store.write() as connection:
            claim_revision(connection, WINDOW_BOOK, read)
            save_windows(connection, windows)
            save_outlooks(connection, outlooks)


def _seasons(rules: Iterable[WindowRule], today: date) -> Iterator[tuple[WindowRule, Season]]:
    """Of each rule the season that is running or begins soon, else the one that was last over."""
    for rule in rules:
        near = next(year for year in (today.year, today.year + 1) if rule.calendar(year).last >= today)
        soon = rule.calendar(near).first <= today + AHEAD_DAYS * DAY
        yield rule, Season(near if soon else near - 1, rule.season)


def _work(
    connection: Connection, rule: WindowRule, season: Season, now: datetime, business: Business
) -> SeasonWork | None:
    today = local_day(now, business.time_zone)
    lawns = _undecided(connection, rule, season, today)
    if not lawns:
        return None
    windows = {
        window.lawn_key: window
        for window in load_windows(connection, [season.key])
        if window.pest is rule.pest and window.species is rule.species
    }
    span = season_span(rule.calendar(season.year), business.rules)
    sites = sorted({lawn.site_key for lawn in lawns})
    # Days ahead are read for the likely dates; what is decided looks at days before today alone.
    soil = load_soil_days(connection, sites, span.first, span.last + (LASTING_DAYS + 1) * DAY)
    own = {} if today < rule.calendar(season.year).first else load_own_grounds(connection, now)
    return SeasonWork(rule, season, lawns, windows, soil, own)


def _undecided(
    connection: Connection, rule: WindowRule, season: Season, today: date
) -> tuple[JudgedLawn, ...]:
    calendar = rule.calendar(season.year)
    if today < calendar.first:
        return lawns_without_window(connection, rule, season)
    if today in calendar:
        return lawns_behind(connection, rule, season, today)
    return lawns_to_close(connection, rule, season, calendar.last + DAY)


def _judged(
    work: SeasonWork, own: Mapping[str, OwnSoil], today: date, rules: BusinessRules
) -> Iterator[Window]:
    """The windows that change; lawns alike in site, texture and what was decided share one judgement.

    A lawn with soil of its own is like no other.
    """
    alike: dict[tuple[str, str, Texture, Window], Window] = {}
    for lawn in work.lawns:
        fresh = Window(lawn.lawn_key, work.rule.pest, work.rule.species, work.season)
        before = work.windows.get(lawn.lawn_key, fresh)
        alone = lawn.lawn_key if lawn.lawn_key in own else ""
        case = alone, lawn.site_key, lawn.texture, replace(before, lawn_key="")
        if case not in alike:
            soil = own[alone].days if alone else work.soil[lawn.site_key]
            alike[case] = extend(case[3], soil, work.rule, lawn.texture, today, rules)
        after = replace(alike[case], lawn_key=lawn.lawn_key)
        if after != before:
            yield after


def _own_soils(work: SeasonWork, today: date) -> dict[str, OwnSoil]:
    """Of the lawns that differ from their site, from the first day that those to decide look back on."""
    return {
        lawn.lawn_key: own_soil(
            work.own[lawn.lawn_key],
            work.soil[lawn.site_key],
            _first_to_decide(work, lawn.lawn_key, today) - work.rule.trailing_days * DAY,
        )
        for lawn in work.lawns
        if lawn.lawn_key in work.own
    }


def _first_to_decide(work: SeasonWork, lawn_key: str, today: date) -> date:
    """A season that is over is summed up from its first day."""
    window = work.windows.get(lawn_key)
    if window is None or window.judged_to is None or today not in work.calendar:
        return work.calendar.first
    return window.judged_to + DAY


def _set_aside(own: Iterable[Mapping[str, OwnSoil]], now: datetime) -> tuple[str, ...]:
    """A sentence for each reading recorded since yesterday that was not believed."""
    return tuple(
        f"{one.reading.lawn_key}: a reading is set aside: {one.reason}"
        for soils in own
        for soil in soils.values()
        for one in soil.state.set_aside
        if one.reading.recorded_at > now - DAY
    )


def _said(windows: Sequence[Window], outlooks: Sequence[Outlook], today: date) -> tuple[str, ...]:
    """A sentence for each different turn of today, and for each new outlook."""
    turned: dict[str, list[str]] = defaultdict(list)
    for window in windows:
        if window.turns and window.turns[-1].day == today:
            turned[f"{window.season.words}: {window.reason}"].append(window.lawn_key)
    lines = [f"{sentence} (lawns: {len(lawns)})" for sentence, lawns in turned.items()]
    return (*lines, *(f"{one.site_key}, {one.season.words}: {one.reason}" for one in outlooks))
