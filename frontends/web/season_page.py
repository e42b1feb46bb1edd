"""The season page: one read-only page, made on the server, that needs no JavaScript."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import lru_cache
from itertools import groupby
from zoneinfo import ZoneInfo

from jinja2 import Environment, PackageLoader, StrictUndefined, select_autoescape
from starlette.requests import Request
from starlette.responses import HTMLResponse, PlainTextResponse, Response

from frontends.web.guard import comes_from_this_machine
from frontends.web.season_facts import SeasonView
from frontends.web.season_view import read_season
from models.clock import now_utc
from models.facts.place import Site
from models.facts.season import Span, Window
from models.facts.weather import SoilDay, WeatherCredit
from models.facts.work import Visit, VisitState
from models.store.engine import Store
from models.units import MONTHS, day_words
from notifiers.pictures.facts import band_c
from notifiers.pictures.words import degrees
from notifiers.words import (
    WEEKDAYS,
    litres_words,
    minutes_words,
    number_words,
    packs_words,
    sentence,
)
from scheduler.weather.meteostat_source import ATTRIBUTION

SHIFTED_FROM = timedelta(minutes=1)  # less is a machine's clock being set
REFUSED = "The season page is shown on this machine only: open it there, at a loopback address.\n"
HEADERS = {
    "Cache-Control": "no-store",
    "Content-Security-Policy": "default-src 'none'; style-src 'self'; img-src 'self'; frame-ancestors 'none'",
    "Referrer-Policy": "no-referrer",
    "X-Content-Type-Options": "nosniff",
}
SOIL_ATTRIBUTION = (
    "Soil estimate: fitted on records of Met Éireann (www.met.ie), CC BY 4.0, modified from the original"
)


@dataclass(frozen=True, slots=True)
class SeasonPage:
    """Answers `/`."""

    store: Store
    now: Callable[[], datetime]
    beyond_loopback: bool = False

    def __call__(self, request: Request) -> Response:
        if not (self.beyond_loopback or comes_from_this_machine(request)):
            return PlainTextResponse(REFUSED, 403, headers=HEADERS)
        now = self.now()
        page = page_of(read_season(self.store, now), replayed=abs(now - now_utc()) > SHIFTED_FROM)
        return HTMLResponse(page, headers=HEADERS)


def page_of(view: SeasonView, *, replayed: bool) -> str:
    """The page as HTML. `replayed`: its clock is not the present one, and it says so."""
    return (
        _templates()
        .get_template("season.html")
        .render(
            view=view,
            clock=clock_words(view.now, view.business.time_zone),
            replayed=replayed,
            credits=credits(view.sites, view.credits),
        )
    )


def clock_words(now: datetime, time_zone: str) -> str:
    """The local time as "Tuesday 14 April 2026, 07:05"."""
    local = now.astimezone(ZoneInfo(time_zone))
    return f"{long_day(local.date())} {local.year}, {local:%H:%M}"


def long_day(day: date) -> str:
    return f"{WEEKDAYS[day.weekday()]} {day_words(day)}"


def short_day(day: date) -> str:
    return f"{WEEKDAYS[day.weekday()][:3]} {day.day} {MONTHS[day.month - 1][:3]}"


def dated(day: date) -> str:
    """A day with its year, for years that lie apart."""
    return f"{day.day} {MONTHS[day.month - 1][:3]} {day.year}"


def span_words(span: Span) -> str:
    first = day_words(span.first)
    return first if span.first == span.last else f"{first} to {day_words(span.last)}"


def soil_words(soil: SoilDay) -> str:
    """The newest estimate with its 80 % range."""
    low, high = (degrees(edge) for edge in band_c(soil))
    return (
        f"{degrees(soil.mean_10cm_c)} °C at 10 cm on {dated(soil.day)}, in 8 of 10 cases {low} to {high} °C"
    )


def visit_words(visit: Visit) -> str:
    """How a visit stands, in a few words."""
    if visit.state is VisitState.OWED:
        return f"no day yet, {dated(visit.allowed.first)} to {dated(visit.allowed.last)}"
    if visit.day is None or visit.state is VisitState.NOT_NEEDED:
        return str(visit.state)
    return f"{visit.state} {dated(visit.day)}"


def window_words(window: Window | None) -> str:
    """What became of a window, in a few words."""
    if window is None:
        return "window not judged yet"
    if not window.spans:
        return "window never open"
    return f"window open {', '.join(span_words(span) for span in window.spans)}"


def without_state(reason: str) -> str:
    """A window's sentence without the "open:" or "shut:" that the page shows beside it."""
    return re.sub(r"^(open|shut): *", "", reason, flags=re.IGNORECASE)


def credits(sites: tuple[Site, ...], kept: tuple[WeatherCredit, ...] = ()) -> tuple[str, ...]:
    """Whom the numbers come from, as their licences ask. `kept` are stored with the days they belong to."""
    brought = [credit for credit in kept if credit.source != "station-file"]
    found = [_credit_line(source, list(its)) for source, its in groupby(brought, lambda one: one.source)]
    if not found and any(site.source == "meteostat" for site in sites):
        found = [ATTRIBUTION]
    files = [site.name for site in sites if site.source == "station-file"]
    if files:
        found.append(f"Weather data: station files for {', '.join(files)}; the terms of their owners hold")
    return (*found, SOIL_ATTRIBUTION)


def _credit_line(source: str, credits: Sequence[WeatherCredit]) -> str:
    """All that one weather source brought, each with its licence."""
    named = [
        ", ".join(filter(None, (one.attribution, one.licence)))
        + ("" if one.commercial else " (not for commercial use)")
        for one in credits
    ]
    return f"{'Forecast' if 'forecast' in source else 'Weather data'}: {'; '.join(named)}"


@lru_cache(maxsize=1)
def _templates() -> Environment:
    environment = Environment(
        loader=PackageLoader("frontends.web"),
        autoescape=select_autoescape(default=True),
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    words: tuple[Callable[..., str], ...] = (
        *(long_day, short_day, dated, span_words, soil_words, visit_words, window_words, without_state),
        *(day_words, litres_words, minutes_words, number_words, packs_words, sentence),
    )
    environment.filters |= {one.__name__: one for one in words}
    return environment
