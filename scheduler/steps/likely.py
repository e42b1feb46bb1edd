"""The `windows` step looking ahead: likely dates, worked out again as the season comes near."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import TYPE_CHECKING

from models.facts.place import Texture
from models.facts.rules import BusinessRules
from models.facts.season import Outlook, Season, WindowRule
from models.facts.weather import Provenance, SoilDay
from models.store.engine import Connection
from models.store.soil import load_soil_days
from models.store.windows import (
    load_outlooks,
    sites_on_programme,
    sites_without_outlook,
    soil_fingerprints,
)
from scheduler.windows.outlook import (
    LASTING_DAYS,
    SiteSeason,
    is_due,
    is_news,
    likely_dates,
    seasons_aligned,
)

if TYPE_CHECKING:
    from scheduler.windows.traces import DayArrays

AHEAD_DAYS = 90  # likely dates are worked out this long before a calendar opens
PAST_YEARS = 15  # likely dates look back no further: springs have grown warmer (engineering choice)
WEEK_BEFORE = 7  # the week that today's soil is known by lies before the first of those days
DAYS_BEFORE = AHEAD_DAYS + WEEK_BEFORE
SITES_AT_ONCE = 20  # their past years as rows: some 20 MB (engineering choice)
DAY = timedelta(days=1)

Soil = Mapping[str, Sequence[SoilDay]]


@dataclass(frozen=True, slots=True)
class LookAhead:
    """What the likely dates of one season rest on this morning; `before` are those that are kept."""

    rule: WindowRule
    season: Season
    textures: Mapping[str, Sequence[Texture]]
    past: Mapping[str, DayArrays]
    present: Soil
    before: Mapping[tuple[str, Texture], Outlook]


@dataclass(slots=True)
class PastCourses:
    """Past years as arrays, kept in this process as long as the records beneath them stay as they are.

    Only speed rests on it: what is kept is keyed by a fingerprint of the soil days it was made from.
    """

    _kept: dict[tuple[str, WindowRule], tuple[object, DayArrays]] = field(default_factory=dict)

    def load(
        self, connection: Connection, sites: Sequence[str], rule: WindowRule, season: Season
    ) -> dict[str, DayArrays]:
        years = range(season.year - PAST_YEARS, season.year)
        first = rule.calendar(years[0]).first - DAYS_BEFORE * DAY
        last = rule.calendar(years[-1]).last + LASTING_DAYS * DAY
        prints = soil_fingerprints(connection, sites, first, last)
        stale = [site for site in sites if not self._is_kept(site, rule, (season, prints[site]))]
        for begin in range(0, len(stale), SITES_AT_ONCE):
            chunk = stale[begin : begin + SITES_AT_ONCE]
            for site, soil in load_soil_days(connection, chunk, first, last).items():
                arrays = seasons_aligned(soil, rule, years, DAYS_BEFORE)
                self._kept[site, rule] = ((season, prints[site]), arrays)
        return {site: self._kept[site, rule][1] for site in sites}

    def _is_kept(self, site: str, rule: WindowRule, rests_on: object) -> bool:
        return (site, rule) in self._kept and self._kept[site, rule][0] == rests_on


def look_ahead(
    connection: Connection, rule: WindowRule, season: Season, today: date, courses: PastCourses, soil: Soil
) -> LookAhead | None:
    """Of a season that is near or running: every site when its likely dates are due, else those without.

    `soil` holds this season's days of the sites for which they were read already, ground's memory included.
    """
    calendar = rule.calendar(season.year)
    if calendar.last < today:
        return None
    due = is_due(calendar, today)
    places = sites_on_programme(connection, rule) if due else sites_without_outlook(connection, rule, season)
    if not places:
        return None
    textures: dict[str, list[Texture]] = defaultdict(list)
    for site, texture in places:
        textures[site].append(texture)
    past = courses.load(connection, list(textures), rule, season)
    unread = [site for site in textures if site not in soil]
    span = calendar.first - DAYS_BEFORE * DAY, calendar.last + LASTING_DAYS * DAY
    read = load_soil_days(connection, unread, *span) if unread else {}
    before = _kept(connection, rule, season) if due else {}
    return LookAhead(rule, season, textures, past, {**soil, **read}, before)


def known(soil_days: Sequence[SoilDay], today: date) -> tuple[SoilDay, ...]:
    """The days before `today`, and of those ahead what is forecast."""
    return tuple(s for s in soil_days if s.day < today or s.provenance is Provenance.FORECAST)


def news_of(ahead: LookAhead, today: date, rules: BusinessRules) -> Iterator[Outlook]:
    """The outlooks that differ from what is kept by more than a wobble."""
    sites = [
        SiteSeason(site, tuple(textures), ahead.past[site], _present(ahead, site, today))
        for site, textures in ahead.textures.items()
    ]
    for outlook in likely_dates(sites, ahead.rule, ahead.season, rules, today):
        if is_news(ahead.before.get((outlook.site_key, outlook.texture)), outlook, today):
            yield outlook


def _present(ahead: LookAhead, site_key: str, today: date) -> DayArrays:
    days = known(ahead.present[site_key], today)
    return seasons_aligned(days, ahead.rule, [ahead.season.year], DAYS_BEFORE)


def _kept(connection: Connection, rule: WindowRule, season: Season) -> dict[tuple[str, Texture], Outlook]:
    outlooks = load_outlooks(connection, [season.key])
    return {(one.site_key, one.texture): one for one in outlooks if one.pest is rule.pest}
