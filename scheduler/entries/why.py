"""Why a lawn has the day it has: read-only, from its booking back to the weather and its source."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta

from models.agronomy.readings import own_soil, own_words
from models.clock import local_day
from models.facts.place import Lawn, Site
from models.facts.rules import BusinessRules
from models.facts.season import Outlook, Span, Window, WindowRule
from models.facts.weather import SoilDay
from models.facts.work import ProgrammeState, Visit
from models.store.engine import Connection, Store
from models.store.people import load_business, load_sites
from models.store.programmes import load_programmes
from models.store.readings import load_own_grounds
from models.store.soil import load_soil_days
from models.store.visits import load_visits
from models.store.weather import load_weather
from models.store.windows import load_outlooks, windows_of
from scheduler.entries.desk import find_lawn
from scheduler.windows.explain import Trace, day_meant, sentences, visit_meant, window_meant
from scheduler.windows.finder import trailing_days
from scheduler.windows.ground import grounds
from scheduler.windows.outlook import season_span

DAY = timedelta(days=1)


def explain_lawn(store: Store, lawn_key: str, now: datetime) -> tuple[str, ...]:
    """Sentences from the lawn's next (or last) visit back to the weather rows; NotFound for no such lawn."""
    with store.read() as connection:
        business = load_business(connection)
        lawn = find_lawn(connection, lawn_key)
        visit = visit_meant(_visits(connection, lawn), local_day(now, business.time_zone))
        window = window_meant(windows_of(connection, lawn.key), visit)
        trace = Trace(lawn, _site(connection, lawn), visit, window)
        return sentences(_with_window(connection, trace, business.rules, now))


def _site(connection: Connection, lawn: Lawn) -> Site:
    return next(site for site in load_sites(connection) if site.key == lawn.site_key)


def _visits(connection: Connection, lawn: Lawn) -> Sequence[Visit]:
    programmes = load_programmes(connection, tuple(ProgrammeState))
    keys = [programme.key for programme in programmes if programme.lawn_key == lawn.key]
    return load_visits(connection, programme_keys=keys)


def _with_window(connection: Connection, trace: Trace, rules: BusinessRules, now: datetime) -> Trace:
    window = trace.window
    rule = None if window is None else rules.window_rule(window.pest, window.season.name)
    if window is None or rule is None:
        return trace
    judged = replace(trace, rule=rule, outlook=_outlook(connection, trace.lawn, window))
    return _with_soil(connection, judged, window, rule, rules, now)


def _outlook(connection: Connection, lawn: Lawn, window: Window) -> Outlook | None:
    return next(
        (
            outlook
            for outlook in load_outlooks(connection, [window.season.key])
            if (outlook.site_key, outlook.texture, outlook.pest) == (lawn.site_key, lawn.texture, window.pest)
        ),
        None,
    )


def _with_soil(
    connection: Connection,
    trace: Trace,
    window: Window,
    rule: WindowRule,
    rules: BusinessRules,
    now: datetime,
) -> Trace:
    day = day_meant(window, rule, trace.visit)
    if day is None:
        return trace
    site_key, eve = trace.lawn.site_key, day - DAY
    first = season_span(rule.calendar(window.season.year), rules).first
    soil = load_soil_days(connection, [site_key], first, eve)[site_key]
    soil, words = _own(connection, trace.lawn, soil, day - rule.trailing_days * DAY, _by_end_of(day, now))
    trailing = trailing_days({one.day: one for one in soil}, rule, day) or ()
    known = load_weather(connection, site_key, day - rule.trailing_days * DAY, eve, now)
    return replace(
        trace,
        day=day,
        trailing=trailing,
        ground=grounds(soil, trace.lawn.texture, rules, Span(eve, eve)).get(eve),
        weather={one.weather.day: one for one in known},
        own=words,
    )


def _own(
    connection: Connection, lawn: Lawn, soil: tuple[SoilDay, ...], since: date, known_at: datetime
) -> tuple[tuple[SoilDay, ...], tuple[str, ...]]:
    """The site's soil days as the lawn's own, and how they differ in words; the same for a plain lawn."""
    ground = load_own_grounds(connection, known_at, [lawn.key]).get(lawn.key)
    if ground is None or not soil:
        return soil, ()
    found = own_soil(ground, soil, since)
    return found.days, own_words(ground, found, soil)


def _by_end_of(day: date, now: datetime) -> datetime:
    """A day is decided by what is known on it: readings told later did not count."""
    return min(now, datetime.combine(day + DAY, time(), UTC))
