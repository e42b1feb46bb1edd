"""Likely dates of a window that lies ahead: past years' courses, begun from the soil as it is today.

The window is decided by the estimated soil, so the chances here are of what the estimate will say; the
estimate's own error against a thermometer is no part of them (`swardtide judge outlook` adds it).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import TYPE_CHECKING

from models.facts.place import Texture
from models.facts.rules import BusinessRules
from models.facts.season import LikelyDay, Outlook, Season, Span, WindowRule
from models.facts.weather import SoilDay
from models.units import day_words

if TYPE_CHECKING:
    # numpy loads with the arrays: the command line starts without it.
    from scheduler.windows.traces import DayArrays, Flags, Traces

LEAST_YEARS = 3  # fewer say less than the calendar does (engineering choice)
CALENDAR_CHANCE = 0.5
LASTING_DAYS = 10  # a kill takes about this long in turf: common practice
TENTHS = (1, 5, 9)  # of ten past years, those that have come by the earliest, likely and latest day
EQUAL_C = 0.05  # shown as 0.0 °C it would say nothing
SAID_C = 0.1  # an anomaly that has faded below this by the calendar's first day says nothing of it

# News (engineering choices): less is a wobble, and bookings made by it would wobble too.
NEWS_DAYS = 3
NEWS_CHANCE = 0.2

NEAR_DAYS = 30  # so long before a calendar, and in it, likely dates are looked at each morning
FAR_EVERY_DAYS = 7  # further ahead each week
DAY = timedelta(days=1)


def season_span(calendar: Span, rules: BusinessRules) -> Span:
    """The soil days that a season's judging rests on: the ground's memory before it, to its last eve."""
    memory = timedelta(days=rules.ground.memory_days)
    return Span(calendar.first - memory, calendar.last - DAY)


def is_due(calendar: Span, today: date) -> bool:
    """Whether likely dates are looked at on `today`: weekly while far, daily when near and in season."""
    ahead = (calendar.first - today).days
    return today <= calendar.last and (ahead <= NEAR_DAYS or ahead % FAR_EVERY_DAYS == 0)


def seasons_aligned(
    soil_days: Sequence[SoilDay], rule: WindowRule, years: Sequence[int], days_before: int
) -> DayArrays:
    """Soil days of those years' seasons above each other, from `days_before` ahead of the calendar.

    They reach ten days beyond its last day, so that a treatment then has its ten days.
    """
    from scheduler.windows.traces import align

    calendars = [rule.calendar(year) for year in years]
    after = max((calendar.last - calendar.first).days for calendar in calendars) + 1 + LASTING_DAYS
    return align(soil_days, [calendar.first for calendar in calendars], days_before, after)


@dataclass(frozen=True, slots=True, eq=False)
class SiteSeason:
    """What likely dates of one site rest on: arrays of `seasons_aligned`, with the same days before.

    `present` has one row: this season's days as far as they are known or forecast.
    """

    site_key: str
    textures: tuple[Texture, ...]
    past: DayArrays
    present: DayArrays


def likely_dates(
    sites: Sequence[SiteSeason], rule: WindowRule, season: Season, rules: BusinessRules, today: date
) -> tuple[Outlook, ...]:
    """The outlook of each site and texture, as of the morning of `today`.

    A past year counts where it is complete; with fewer than three each chance is 0.5 and the reason
    says so.
    """
    from scheduler.windows.traces import traces

    found = [traces(site.past, site.present, -rules.ground.memory_days) for site in sites]
    unfit = _unfit(sites, found, rules)
    return tuple(
        _told(_blank(site, texture, rule, season, today), rule, courses, unfit.get((site.site_key, texture)))
        for site, courses in zip(sites, found, strict=True)
        for texture in site.textures
    )


def _blank(site: SiteSeason, texture: Texture, rule: WindowRule, season: Season, today: date) -> Outlook:
    return Outlook(site.site_key, texture, rule.pest, season, (), 0, "", issued_on=today)


def _unfit(
    sites: Sequence[SiteSeason], found: Sequence[Traces], rules: BusinessRules
) -> dict[tuple[str, Texture], Flags]:
    """Unfit ground by site and texture, of the sites with years enough; all in one account."""
    from scheduler.windows.traces import stacked, unfit_ground

    counted = [pair for pair in zip(sites, found, strict=True) if len(pair[1].days.years) >= LEAST_YEARS]
    if not counted:
        return {}
    textures = sorted({texture for site, _ in counted for texture in site.textures})
    together = unfit_ground(stacked([courses.days for _, courses in counted]), textures, rules)
    by_site: dict[tuple[str, Texture], Flags] = {}
    row = 0
    for site, courses in counted:
        rows = slice(row, row + len(courses.days.years))
        by_site |= {(site.site_key, one): flags[rows] for one, flags in zip(textures, together, strict=True)}
        row = rows.stop
    return by_site


def _told(blank: Outlook, rule: WindowRule, found: Traces, unfit: Flags | None) -> Outlook:
    calendar, years = rule.calendar(blank.season.year), len(found.days.years)
    if unfit is None:
        chances = tuple((day, CALENDAR_CHANCE) for day in calendar.days())
        reason = f"{_years_are(years)} known here: no more is known than the calendar says"
        return replace(blank, chances=chances, years=years, reason=reason)
    return _outlook(replace(blank, years=years), calendar, _warm(found, rule), ~unfit, found)


def is_news(before: Outlook | None, after: Outlook, today: date) -> bool:
    """Whether `after` differs from what is kept by more than a wobble, of the days still ahead.

    News is a likely day moved by three days or more, a chance by a fifth, or another number of years.
    """
    if before is None or before.years != after.years or len(before.chances) != len(after.chances):
        return True
    beyond = after.chances[-1][0] + NEWS_DAYS * DAY
    for was, now in ((before.opening, after.opening), (before.closing, after.closing)):
        if (was is None) != (now is None):
            return True
        pairs = zip(was.days, now.days, strict=True) if was and now else ()
        if any(abs(((b or beyond) - (a or beyond)).days) >= NEWS_DAYS for a, b in pairs):
            return True
    ahead = zip(before.chances, after.chances, strict=True)
    return any(abs(b - a) >= NEWS_CHANCE for (day, a), (_, b) in ahead if day > today)


def _warm(found: Traces, rule: WindowRule) -> Flags:
    """Whether the trailing mean is at or above the limit, years by columns; its days end with the column."""
    from scheduler.windows.traces import trailing_means_c

    # A sum of 10.0 °C seven times must not fall short of 10 °C by the last bit.
    warm: Flags = trailing_means_c(found.days.soil_c, rule.trailing_days) >= rule.limit_c - 1e-9
    return warm


def _outlook(blank: Outlook, calendar: Span, warm: Flags, fit: Flags, found: Traces) -> Outlook:
    days = calendar.days()
    eve = found.days.before - 1  # a day is judged by its eve
    is_open = (warm & fit)[:, eve : eve + len(days)]
    lasts = _lasts(warm, eve + 1, len(days))
    chances = tuple(zip(days, is_open.mean(axis=0).tolist(), strict=True))
    first_open = [_first_true(row, len(days)) for row in is_open]
    last_open = [len(days) - 1 - _first_true(row[::-1], len(days)) for row in is_open]
    opening = _range(first_open, days)
    closing = _range([place for place in last_open if place >= 0], days)
    return replace(
        blank,
        chances=chances,
        opening=opening,
        closing=closing,
        lasting=tuple(zip(days, lasts.mean(axis=0).tolist(), strict=True)),
        reason=_reason(opening, closing, chances, blank.issued_on or calendar.first)
        + f"; from {_years(blank.years)}{_today_words(found)}",
    )


def _lasts(warm: Flags, first: int, count: int) -> Flags:
    """For `count` columns from `first`: whether the mean holds on each of the ten days after."""
    import numpy as np

    misses = np.cumsum(~warm, axis=1)
    held: Flags = (
        misses[:, first + LASTING_DAYS : first + LASTING_DAYS + count] - misses[:, first : first + count] == 0
    )
    return held


def _first_true(row: Flags, none: int) -> int:
    return int(row.argmax()) if row.any() else none


def _range(places: Sequence[int], days: Sequence[date]) -> LikelyDay | None:
    """The 10, 50 and 90 % of `places`, each a place of them; one beyond the last day is no day."""
    if not places:
        return None
    ordered = sorted(places)
    # The first place that this share of them does not pass: Hyndman & Fan 1996, type 1, in whole numbers.
    picked = (ordered[-(-len(ordered) * tenths // 10) - 1] for tenths in TENTHS)
    return LikelyDay(*(days[place] if place < len(days) else None for place in picked))


def _reason(
    opening: LikelyDay | None,
    closing: LikelyDay | None,
    chances: Sequence[tuple[date, float]],
    today: date,
) -> str:
    if opening is None or closing is None or opening.likely is None:
        best, chance = max(chances, key=lambda item: item[1])
        return f"unlikely to open: at best {chance:.0%} on {day_words(best)}"
    opens = _day_words("likely to open on", "opened on", opening, today)
    return f"{opens}, {_day_words('likely to be open last on', 'open last on', closing, today)}"


def _day_words(ahead: str, behind: str, day: LikelyDay, today: date) -> str:
    if day.latest is not None and day.latest <= today:
        return f"{behind} {_words(day.likely)}"
    if day.earliest == day.latest:
        return f"{ahead} {_words(day.likely)}"
    latest = "perhaps not at all" if day.latest is None else f"latest {_words(day.latest)}"
    return f"{ahead} {_words(day.likely)} (earliest {_words(day.earliest)}, {latest})"


def _words(day: date | None) -> str:
    return "no day" if day is None else day_words(day)


def _today_words(found: Traces) -> str:
    """What today's soil adds to the past years, or that it adds nothing."""
    from scheduler.windows.traces import kept

    if found.anomaly_c is None or found.known_to is None:
        return " alone: this season's soil is not known, so no more is known than the climate"
    carried_c = found.anomaly_c * float(kept(max(0, -found.known_to)))
    if found.known_to < 0 and abs(carried_c) < SAID_C:
        return " alone: today's soil says nothing of it yet, so no more is known than the climate"
    if abs(found.anomaly_c) < EQUAL_C:
        return " and today's soil, as warm as in them over the last week"
    side = "warmer" if found.anomaly_c >= 0 else "colder"
    return f" and today's soil, {abs(found.anomaly_c):.1f} °C {side} than in them over the last week"


def _years(count: int) -> str:
    return "1 past year" if count == 1 else f"{count} past years"


def _years_are(count: int) -> str:
    return f"{_years(count)} {'is' if count == 1 else 'are'}"
