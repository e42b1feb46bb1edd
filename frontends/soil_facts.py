"""Reading what is told and drawn of a place's soil: its estimate, its window and its visits."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta

from models.clock import local_day
from models.errors import NotFound
from models.facts.place import Lawn, Site
from models.facts.rules import Business
from models.facts.season import Outlook, Pest, Season, Span, WindowRule
from models.facts.weather import SoilDay, WeatherCredit
from models.facts.work import Programme, ProgrammeState, Visit
from models.store.credits import load_credits
from models.store.engine import Connection, Store
from models.store.people import load_business, load_sites
from models.store.programmes import load_programmes
from models.store.soil import load_soil_days
from models.store.visits import load_visits
from models.store.windows import load_outlooks, windows_of
from notifiers.pictures.facts import SoilPicture
from scheduler.entries.desk import find_lawn
from scheduler.steps.likely import AHEAD_DAYS
from scheduler.windows.finder import trailing_days

DAY = timedelta(days=1)
WEEK = 7 * DAY
BACK_DAYS = 245  # back to the season before (engineering choice)
NEXT_DAYS = 30  # room for forecasts and the visits booked next


@dataclass(frozen=True, slots=True)
class PlaceSoil:
    """A site's soil, or a lawn's with its window and visits. `trailing` are the days that judge today."""

    site: Site
    lawn: Lawn | None
    rule: WindowRule | None
    season: Season | None
    trailing: tuple[SoilDay, ...]
    picture: SoilPicture
    credits: tuple[WeatherCredit, ...] = ()


def season_now_or_next(business: Business, pest: Pest, today: date) -> tuple[WindowRule, Season] | None:
    """The rule and season whose calendar runs on `today`, else the next one's; None without any rule."""
    ahead = [
        (rule.calendar(year), Season(year, rule.season), rule)
        for rule in business.rules.windows
        if rule.pest is pest
        for year in (today.year, today.year + 1)
        if rule.calendar(year).last >= today
    ]
    found = min(ahead, key=lambda one: one[0], default=None)
    return None if found is None else (found[2], found[1])


def likely_from(rule: WindowRule, season: Season) -> date:
    """The day from which likely dates of a season are worked out."""
    return rule.calendar(season.year).first - AHEAD_DAYS * DAY


def read_lawn_soil(store: Store, lawn_key: str, now: datetime, shown: Span | None = None) -> PlaceSoil:
    """A lawn's soil over `shown`, its window and visits; NotFound for no such lawn.

    `shown` None: from the season before to the one that is near.
    """
    with store.read() as connection:
        business = load_business(connection)
        lawn = find_lawn(connection, lawn_key)
        programme = _newest_programme(connection, lawn)
        pest = _usual_pest(business) if programme is None else programme.pest
        place = _place(connection, business, lawn.site_key, pest, now, shown)
        return _with_lawn(connection, place, lawn, pest)


def read_site_soil(store: Store, site_key: str, now: datetime, shown: Span | None = None) -> PlaceSoil:
    """A site's soil over `shown`, without a window: that is a lawn's. NotFound for no such site."""
    with store.read() as connection:
        business = load_business(connection)
        return _place(connection, business, site_key, _usual_pest(business), now, shown)


def _usual_pest(business: Business) -> Pest:
    return business.rules.windows[0].pest if business.rules.windows else Pest.LEATHERJACKETS


def _newest_programme(connection: Connection, lawn: Lawn) -> Programme | None:
    programmes = load_programmes(connection, tuple(ProgrammeState))
    own = [programme for programme in programmes if programme.lawn_key == lawn.key]
    return max(own, key=lambda one: (one.starts_on, one.key), default=None)


def _place(
    connection: Connection, business: Business, site_key: str, pest: Pest, now: datetime, shown: Span | None
) -> PlaceSoil:
    today = local_day(now, business.time_zone)
    site = _site(connection, site_key)
    rule, season = season_now_or_next(business, pest, today) or (None, None)
    span = shown or _usual_span(rule, season, today)
    first, last = min(span.first, today - WEEK), max(span.last, today)
    days = load_soil_days(connection, [site_key], first, last)[site_key]
    trailing = trailing_days({soil.day: soil for soil in days}, rule, today) if rule else None
    limit_c = None if rule is None else rule.limit_c
    picture = SoilPicture(site.name, span, today, days, limit_c)
    credits = tuple(load_credits(connection).get(site_key, ()))
    return PlaceSoil(site, None, rule, season, trailing or (), picture, credits)


def _usual_span(rule: WindowRule | None, season: Season | None, today: date) -> Span:
    """To the end of a season that is near enough for likely dates, and some weeks in any case."""
    ends = today + NEXT_DAYS * DAY
    if rule is not None and season is not None and likely_from(rule, season) <= today:
        ends = max(ends, rule.calendar(season.year).last)
    return Span(today - BACK_DAYS * DAY, ends)


def _site(connection: Connection, key: str) -> Site:
    found = next((site for site in load_sites(connection) if site.key == key), None)
    if found is None:
        raise NotFound("site", key, "see `swardtide checkup`, which names them")
    return found


def _with_lawn(connection: Connection, place: PlaceSoil, lawn: Lawn, pest: Pest) -> PlaceSoil:
    windows = [window for window in windows_of(connection, lawn.key) if window.pest is pest]
    picture = replace(
        place.picture,
        name=lawn.name,
        open_spans=tuple(span for window in windows for span in window.spans),
        visits=_visits(connection, lawn),
    )
    outlook = None if place.season is None else _outlook(connection, lawn, pest, place.season)
    return replace(place, lawn=lawn, picture=picture if outlook is None else _ahead(picture, outlook))


def _visits(connection: Connection, lawn: Lawn) -> tuple[Visit, ...]:
    programmes = load_programmes(connection, tuple(ProgrammeState))
    keys = [programme.key for programme in programmes if programme.lawn_key == lawn.key]
    return load_visits(connection, programme_keys=keys)


def _outlook(connection: Connection, lawn: Lawn, pest: Pest, season: Season) -> Outlook | None:
    meant = (lawn.site_key, lawn.texture, pest)
    found = load_outlooks(connection, [season.key])
    return next((one for one in found if (one.site_key, one.texture, one.pest) == meant), None)


def _ahead(picture: SoilPicture, outlook: Outlook) -> SoilPicture:
    """With the likely dates that lie ahead: those that are past are decided."""
    chances = tuple((day, chance) for day, chance in outlook.chances if day >= picture.today)
    return replace(picture, chances=chances, opening=outlook.opening, closing=outlook.closing)
