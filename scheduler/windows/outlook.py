"""Likely dates of a window that lies ahead: how often each of its days was open in past years."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, timedelta

from models.facts.place import Texture
from models.facts.rules import BusinessRules
from models.facts.season import Outlook, Season, Span, WindowRule
from models.facts.weather import SoilDay
from models.units import day_words
from scheduler.windows.finder import judge_days

LEAST_YEARS = 3  # fewer say less than the calendar does (engineering choice)
CALENDAR_CHANCE = 0.5
LIKELY = 0.5


def likely_dates(
    soil_days_of_past_years: Sequence[SoilDay],
    rule: WindowRule,
    texture: Texture,
    season: Season,
    rules: BusinessRules,
    site_key: str,
) -> Outlook:
    """For each day of the season's calendar, the share of past years in which that day was open.

    `soil_days_of_past_years` are in order. A year counts where every day that its season rests on is
    there; with fewer than three such years each chance is 0.5 and the reason says so.
    """
    calendar = rule.calendar(season.year)
    years = list(_past_openings(soil_days_of_past_years, rule, texture, season.year, rules))
    chances = [CALENDAR_CHANCE] * len(calendar.days())
    if len(years) >= LEAST_YEARS:
        chances = [_share(years, place) for place in range(len(chances))]
    dated = tuple(zip(calendar.days(), chances, strict=True))
    return Outlook(site_key, texture, rule.pest, season, dated, len(years), _reason(dated, len(years)))


def _share(years: Sequence[tuple[bool, ...]], place: int) -> float:
    """Share of years open on the calendar's day at `place`; a leap day more takes the last of a year."""
    return sum(year[min(place, len(year) - 1)] for year in years) / len(years)


def _past_openings(
    soil_days: Sequence[SoilDay], rule: WindowRule, texture: Texture, year: int, rules: BusinessRules
) -> Iterator[tuple[bool, ...]]:
    """Of each complete past year, whether each day of the calendar was open."""
    by_day = {soil.day: soil for soil in soil_days if soil.day.year < year}
    for past in sorted({day.year for day in by_day}):
        calendar = rule.calendar(past)
        needed = season_span(calendar, rules)
        if all(day in by_day for day in needed.days()):
            season_days = [by_day[day] for day in needed.days()]
            verdicts = judge_days(season_days, rule, texture, calendar, rules)
            yield tuple(verdict.is_open for verdict in verdicts.values())


def season_span(calendar: Span, rules: BusinessRules) -> Span:
    """The soil days that a season's judging rests on: the ground's memory before it, to its last eve."""
    memory = timedelta(days=rules.ground.memory_days)
    return Span(calendar.first - memory, calendar.last - timedelta(days=1))


def _reason(dated: Sequence[tuple[date, float]], years: int) -> str:
    if years < LEAST_YEARS:
        return f"{years} past years are known here: no more is known than the calendar says"
    likely = [day for day, chance in dated if chance >= LIKELY]
    if not likely:
        best, chance = max(dated, key=lambda item: item[1])
        return f"unlikely to open: at best {chance:.0%} of {years} past years, on {day_words(best)}"
    return (
        f"in at least half of {years} past years it was open between "
        f"{day_words(likely[0])} and {day_words(likely[-1])}"
    )
