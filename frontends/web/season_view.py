"""Reading what the season page shows: one snapshot of the records, put together."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from itertools import groupby

from frontends.soil_facts import likely_from, season_now_or_next
from frontends.web.season_facts import (
    DayView,
    LawnView,
    PostLine,
    SeasonLine,
    SeasonView,
    Standing,
    WindowView,
)
from models.clock import local_day
from models.facts.place import Client, ClientState, Lawn, Site
from models.facts.post import MessageKind, MessageState
from models.facts.rules import Business
from models.facts.season import Outlook, Pest, Season, SeasonName, Span, Window
from models.facts.weather import SoilDay
from models.facts.work import Programme, ProgrammeState, Visit, VisitState, WateringDay
from models.store.credits import load_distinct_credits
from models.store.engine import Connection, Store
from models.store.people import load_business, load_clients, load_lawns, load_sites
from models.store.post import KeptMessage, load_messages
from models.store.programmes import load_programmes
from models.store.soil import load_soil_days
from models.store.stock import load_batches, load_orders
from models.store.visits import load_running_visits
from models.store.watering import load_watering_days
from models.store.windows import load_outlooks, load_windows

YEARS_BACK = 3
SOIL_BACK_DAYS = 31  # an older estimate tells nothing of the present (engineering choice)
DAYS_AHEAD = 14  # engineering choice: what a person can still prepare for
OPEN_MESSAGES = (MessageState.OWED, MessageState.SENDING, MessageState.DOUBTFUL, MessageState.FAILED)


@dataclass(frozen=True, slots=True)
class _Records:
    """One snapshot, keyed for putting together."""

    business: Business
    today: date
    clients: Mapping[str, Client]
    sites: Mapping[str, Site]
    programmes: Mapping[str, Programme]
    visits: Mapping[str, tuple[Visit, ...]]
    windows: Mapping[tuple[str, Pest, Season], Window]
    outlooks: Mapping[tuple[str, str, Pest, Season], Outlook]
    water: Mapping[str, WateringDay]
    soil: Mapping[str, SoilDay]


def read_season(store: Store, now: datetime) -> SeasonView:
    """The season as it stands at `now`; NotFound before a business is set up."""
    with store.read() as connection:
        business = load_business(connection)
        today = local_day(now, business.time_zone)
        keys = [season.key for season in _seasons_near(today)]
        sites = {site.key: site for site in load_sites(connection)}
        records = _Records(
            business=business,
            today=today,
            clients={client.key: client for client in load_clients(connection)},
            sites=sites,
            programmes=_newest(load_programmes(connection, tuple(ProgrammeState))),
            visits=_by_lawn(load_running_visits(connection)),
            windows={(w.lawn_key, w.pest, w.season): w for w in load_windows(connection, keys)},
            outlooks={(o.site_key, o.texture, o.pest, o.season): o for o in load_outlooks(connection, keys)},
            water={day.lawn_key: day for day in load_watering_days(connection, today)},
            soil=_newest_soil(connection, sites, today),
        )
        lawns = _lawn_views(load_lawns(connection), records)
        return SeasonView(
            business=business,
            now=now,
            today=today,
            lawns=lawns,
            days=_days(lawns, today),
            batches=tuple(batch for batch in load_batches(connection) if batch.left),
            orders=load_orders(connection),
            post=_post_lines(load_messages(connection, OPEN_MESSAGES), records),
            sites=tuple(records.sites.values()),
            credits=load_distinct_credits(connection),
        )


def _newest_soil(connection: Connection, sites: Iterable[str], today: date) -> dict[str, SoilDay]:
    """The newest estimate of each site that does not lie ahead; none where the last is older than a month."""
    found = load_soil_days(connection, sites, today - timedelta(days=SOIL_BACK_DAYS), today)
    return {site_key: days[-1] for site_key, days in found.items() if days}


def _seasons_near(today: date) -> list[Season]:
    """From the beginning of the longest programme that may run, to the next year's seasons."""
    years = range(today.year - YEARS_BACK, today.year + 2)
    return [Season(year, name) for year in years for name in SeasonName]


def _newest(programmes: Iterable[Programme]) -> dict[str, Programme]:
    """The programme of each lawn that began last."""
    return {one.lawn_key: one for one in sorted(programmes, key=lambda one: (one.starts_on, one.key))}


def _by_lawn(visits: Iterable[Visit]) -> dict[str, tuple[Visit, ...]]:
    found: dict[str, list[Visit]] = defaultdict(list)
    for visit in visits:
        found[visit.lawn_key].append(visit)
    return {key: tuple(sorted(each, key=_in_time)) for key, each in found.items()}


def _in_time(visit: Visit) -> tuple[date, str]:
    return visit.day or visit.allowed.first, visit.key


def _lawn_views(lawns: Iterable[Lawn], records: _Records) -> tuple[LawnView, ...]:
    """Lawns of present clients, in order of the client's name and the lawn's."""
    staying = [lawn for lawn in lawns if records.clients[lawn.client_key].state is not ClientState.LEFT]
    views = [_lawn_view(lawn, records) for lawn in staying]
    return tuple(sorted(views, key=_by_names))


def _by_names(view: LawnView) -> tuple[str, str, str]:
    return view.client.name.casefold(), view.lawn.name.casefold(), view.lawn.key


def _lawn_view(lawn: Lawn, records: _Records) -> LawnView:
    programme = records.programmes.get(lawn.key)
    visits = records.visits.get(lawn.key, ())
    booked = [visit for visit in visits if visit.state is VisitState.BOOKED]
    seasons = _season_lines(lawn, programme, visits, records)
    return LawnView(
        lawn=lawn,
        client=records.clients[lawn.client_key],
        site=records.sites[lawn.site_key],
        programme=programme,
        window=_window_view(lawn, programme, records),
        last_season=_last_season(seasons, programme, records),
        next_visit=min(booked, key=_in_time, default=None),
        seasons=seasons,
        water=records.water.get(lawn.key),
        soil=records.soil.get(lawn.site_key),
    )


def _season_lines(
    lawn: Lawn, programme: Programme | None, visits: Sequence[Visit], records: _Records
) -> tuple[SeasonLine, ...]:
    if programme is None:
        return ()
    in_seasons = sorted(visits, key=lambda visit: (visit.season.key, *_in_time(visit)))
    return tuple(
        SeasonLine(season, tuple(each), records.windows.get((lawn.key, programme.pest, season)))
        for season, each in groupby(in_seasons, key=lambda one: one.season)
    )


def _last_season(
    seasons: Sequence[SeasonLine], programme: Programme | None, records: _Records
) -> SeasonLine | None:
    """The newest season whose calendar is over."""
    if programme is None:
        return None
    rules = {rule.season: rule for rule in records.business.rules.windows if rule.pest is programme.pest}
    over = [
        line
        for line in seasons
        if line.season.name in rules
        and rules[line.season.name].calendar(line.season.year).last < records.today
    ]
    return over[-1] if over else None


def _window_view(lawn: Lawn, programme: Programme | None, records: _Records) -> WindowView | None:
    if programme is None or programme.state is not ProgrammeState.ACTIVE:
        return None
    ahead = season_now_or_next(records.business, programme.pest, records.today)
    if ahead is None:
        return None
    rule, season = ahead
    calendar = rule.calendar(season.year)
    window = records.windows.get((lawn.key, programme.pest, season))
    outlook = records.outlooks.get((lawn.site_key, lawn.texture, programme.pest, season))
    begun = calendar.first <= records.today
    return WindowView(
        season=season,
        pest=programme.pest,
        calendar=calendar,
        standing=_standing(window, begun),
        reason=window.reason if window is not None else _not_judged(begun),
        judged_to=None if window is None else window.judged_to,
        likely=_likely(outlook, records.business.rules.booking.least_chance, records.today),
        likely_reason=outlook.reason if outlook is not None else "",
        likely_from=likely_from(rule, season),
    )


def _standing(window: Window | None, begun: bool) -> Standing:
    if not begun:
        return Standing.AHEAD
    return Standing.OPEN if window is not None and window.is_open else Standing.SHUT


def _not_judged(begun: bool) -> str:
    return "not judged yet: the windows step has not run" if begun else "its calendar has not begun"


def _likely(outlook: Outlook | None, least_chance: float, today: date) -> Span | None:
    """From the first to the last day ahead that is more likely open than not."""
    if outlook is None:
        return None
    days = [day for day, chance in outlook.chances if chance >= least_chance and day >= today]
    return Span(min(days), max(days)) if days else None


def _post_lines(messages: Iterable[KeptMessage], records: _Records) -> tuple[PostLine, ...]:
    """Messages counted by reader, those that need a person first."""
    counted: dict[tuple[bool, str, MessageState, str], Counter[MessageKind]] = defaultdict(Counter)
    for kept in messages:
        client = records.clients.get(kept.message.recipient)
        reader = records.business.name if client is None else client.name
        waits = kept.state in (MessageState.OWED, MessageState.SENDING)
        counted[waits, reader, kept.state, kept.trouble][kept.message.kind] += 1
    return tuple(
        PostLine(reader, state, trouble, tuple(sorted(kinds.items())))
        for (_, reader, state, trouble), kinds in sorted(counted.items())
    )


def _days(lawns: Iterable[LawnView], today: date) -> tuple[DayView, ...]:
    """Booked days of the fortnight ahead; a day that is past and not recorded stands first."""
    booked = sorted(
        (
            (visit.day, visit.key, visit, lawn)
            for lawn in lawns
            for line in lawn.seasons
            for visit in line.visits
            if visit.state is VisitState.BOOKED and visit.day is not None
            if visit.day <= today + timedelta(days=DAYS_AHEAD)
        ),
        key=lambda one: one[:2],
    )
    return tuple(
        DayView(day, tuple((visit, lawn) for _, _, visit, lawn in each))
        for day, each in groupby(booked, key=lambda one: one[0])
    )
