"""The whole pattern of a programme at its start: what a lawn is owed over the years, season by season."""

from __future__ import annotations

from datetime import date, datetime, timedelta

from models.agronomy.dosing import packs_for, treatment_minutes
from models.errors import BadSettings
from models.facts.place import Lawn
from models.facts.rules import BusinessRules
from models.facts.season import Pest, Season, SeasonName, Span, WindowRule
from models.facts.work import Programme, Visit, VisitKind, VisitState


def whole_pattern(
    programme: Programme, lawn: Lawn, rules: BusinessRules, now: datetime, *, renewed: bool
) -> tuple[Visit, ...]:
    """An autumn treatment and a late-winter count for each year; before them a survey of a new lawn.

    The first autumn is the first one whose calendar has not closed when the programme starts. Spring
    treatments are no part of it: only a count can call for one. BadSettings where the pest has no
    autumn window rule.
    """
    autumns = tuple(range(first := first_autumn(programme, rules), first + programme.years))
    survey = () if renewed else (first_survey(programme, rules, now),)
    treatments = tuple(_autumn_treatment(programme, lawn, year, rules, now) for year in autumns)
    return (*survey, *treatments, *_late_winter_counts(programme, autumns, rules, now))


def first_autumn(programme: Programme, rules: BusinessRules) -> int:
    """The year of the programme's first autumn treatment."""
    year = programme.starts_on.year
    closed = autumn_rule(rules, programme.pest).calendar(year).last < programme.starts_on
    return year + 1 if closed else year


def autumn_rule(rules: BusinessRules, pest: Pest) -> WindowRule:
    rule = rules.window_rule(pest, SeasonName.AUTUMN)
    if rule is None:
        raise BadSettings(
            "autumn window rule", pest.value, "add a window rule for this pest before a programme"
        )
    return rule


def first_survey(programme: Programme, rules: BusinessRules, now: datetime) -> Visit:
    return survey_visit(programme, 1, programme.starts_on, rules, "a new lawn is surveyed first", now)


def survey_visit(
    programme: Programme, ordinal: int, asked_on: date, rules: BusinessRules, reason: str, now: datetime
) -> Visit:
    """A survey within the days that the business gives itself from `asked_on` on."""
    season = Season(first_autumn(programme, rules), SeasonName.AUTUMN)
    allowed = Span(
        asked_on + timedelta(days=rules.booking.notice_days),
        asked_on + timedelta(days=rules.programme.survey_within_days),
    )
    return owed_visit(
        programme, season, VisitKind.SURVEY, allowed, rules.dose.survey_minutes, reason, now, ordinal
    )


def treatment_visit(
    programme: Programme,
    lawn: Lawn,
    season: Season,
    allowed: Span,
    rule: WindowRule,
    rules: BusinessRules,
    reason: str,
    now: datetime,
) -> Visit:
    """A treatment with the packs and minutes that the lawn's area and the season's dose ask for."""
    packs = packs_for(lawn.area_m2, rule.dose_factor, rules.dose.pack_m2)
    minutes = treatment_minutes(packs, rules.dose)
    return owed_visit(programme, season, VisitKind.TREATMENT, allowed, minutes, reason, now, packs=packs)


def owed_visit(
    programme: Programme,
    season: Season,
    kind: VisitKind,
    allowed: Span,
    minutes: int,
    reason: str,
    now: datetime,
    ordinal: int = 1,
    packs: int = 0,
) -> Visit:
    return Visit(
        key=Visit.key_for(programme.key, season, kind, ordinal),
        programme_key=programme.key,
        lawn_key=programme.lawn_key,
        season=season,
        kind=kind,
        allowed=allowed,
        minutes=minutes,
        packs=packs,
        state=VisitState.OWED,
        day=None,
        revision=1,
        reason=reason,
        changed_at=now,
    )


def _autumn_treatment(
    programme: Programme, lawn: Lawn, year: int, rules: BusinessRules, now: datetime
) -> Visit:
    rule = autumn_rule(rules, programme.pest)
    calendar = rule.calendar(year)
    allowed = Span(max(calendar.first, programme.starts_on), calendar.last)
    ordinal = year - first_autumn(programme, rules) + 1
    reason = f"autumn treatment {ordinal} of {programme.years}"
    season = Season(year, SeasonName.AUTUMN)
    return treatment_visit(programme, lawn, season, allowed, rule, rules, reason, now)


def _late_winter_counts(
    programme: Programme, autumns: tuple[int, ...], rules: BusinessRules, now: datetime
) -> tuple[Visit, ...]:
    """One before each spring; none where the pest has no spring window, for it would decide nothing."""
    if rules.window_rule(programme.pest, SeasonName.SPRING) is None:
        return ()
    return tuple(_late_winter_count(programme, year + 1, rules, now) for year in autumns)


def _late_winter_count(programme: Programme, year: int, rules: BusinessRules, now: datetime) -> Visit:
    opens, closes = rules.programme.late_winter_opens, rules.programme.late_winter_closes
    reason = f"a late-winter count decides on a treatment in spring {year}"
    season, allowed = Season(year, SeasonName.SPRING), Span(date(year, *opens), date(year, *closes))
    return owed_visit(programme, season, VisitKind.COUNT, allowed, rules.dose.count_minutes, reason, now)
