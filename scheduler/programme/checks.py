"""The follow-up check that each treatment brings, in days on which a count can tell."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import date, datetime, timedelta

from models.agronomy.counts import counts_speak
from models.facts.rules import BusinessRules, ProgrammeRules
from models.facts.season import SeasonName, Span
from models.facts.work import Programme, Treatment, Visit, VisitKind, VisitState
from models.units import day_words
from scheduler.programme.pattern import owed_visit


def follow_up_checks(
    programme: Programme,
    visits: Mapping[str, Visit],
    treatments: Iterable[Treatment],
    rules: BusinessRules,
    now: datetime,
) -> tuple[Visit, ...]:
    """One for each treatment of a programme's `visits` (by key) whose season has none yet."""
    checked = {visit.season for visit in visits.values() if visit.kind is VisitKind.FOLLOW_UP}
    treated = [
        (treatment.day, visits[treatment.visit_key])
        for treatment in treatments
        if treatment.visit_key in visits
    ]
    return tuple(
        _check(programme, visit, day, rules, now) for day, visit in treated if visit.season not in checked
    )


def _check(programme: Programme, treated: Visit, day: date, rules: BusinessRules, now: datetime) -> Visit:
    """OWED, or NOT_NEEDED where a spring treatment came so late that a count would tell nothing."""
    plan = rules.programme
    usual = Span(day + timedelta(days=plan.check_after_days), day + timedelta(days=plan.check_within_days))
    allowed = _telling_days(usual, treated.season.name, plan)
    reason = _reason(day, usual, allowed, plan)
    check = owed_visit(
        programme,
        treated.season,
        VisitKind.FOLLOW_UP,
        allowed or usual,
        rules.dose.count_minutes,
        reason,
        now,
    )
    return check if allowed is not None else replace(check, state=VisitState.NOT_NEEDED)


def _telling_days(usual: Span, season: SeasonName, plan: ProgrammeRules) -> Span | None:
    """The usual days, put off in autumn and cut in spring to those on which counts speak; None: none left."""
    if season is SeasonName.AUTUMN:
        if counts_speak(usual.first, plan):
            return usual
        first = date(usual.first.year, *plan.counts_speak_from)
        return Span(first, first + (usual.last - usual.first))
    if not counts_speak(usual.first, plan):
        return None
    return Span(usual.first, min(usual.last, date(usual.first.year, *plan.counts_speak_to)))


def _reason(day: date, usual: Span, allowed: Span | None, plan: ProgrammeRules) -> str:
    after = (
        f"{plan.check_after_days} to {plan.check_within_days} days after the treatment of {day_words(day)}"
    )
    if allowed is None:
        return f"{after} is too late in the year to tell leatherjackets from a count"
    if allowed.first > usual.first:
        return (
            f"a check after the treatment of {day_words(day)}; counts tell from {day_words(allowed.first)} on"
        )
    return f"a check {after}"
