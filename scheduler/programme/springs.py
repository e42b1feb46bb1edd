"""What the late-winter count changes: a spring treatment, or the reason why none is needed."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import datetime

from models.agronomy.counts import Call, Verdict, verdict
from models.facts.place import Lawn
from models.facts.rules import BusinessRules
from models.facts.season import SeasonName, WindowRule
from models.facts.work import GrubCount, Programme, Visit, VisitKind, VisitState
from models.units import day_words
from scheduler.programme.pattern import treatment_visit

DECIDED = (VisitState.DONE, VisitState.MISSED, VisitState.NOT_NEEDED)


def spring_treatments(
    programme: Programme,
    lawn: Lawn,
    visits: Iterable[Visit],
    counts: Iterable[GrubCount],
    rules: BusinessRules,
    now: datetime,
) -> tuple[Visit, ...]:
    """For each late-winter count that is decided, the treatment of its spring: OWED or NOT_NEEDED.

    Springs that have their treatment already are left out, and so is a count that is done but not known.
    """
    rule = rules.window_rule(programme.pest, SeasonName.SPRING)
    undecided = _undecided_counts(visits)
    if rule is None or not undecided:
        return ()
    found = {count.visit_key: count for count in counts}
    decided = (_spring(programme, lawn, visit, found, rule, rules, now) for visit in undecided)
    return tuple(visit for visit in decided if visit is not None)


def _undecided_counts(visits: Iterable[Visit]) -> tuple[Visit, ...]:
    everything = tuple(visits)
    treated = {visit.season for visit in everything if visit.kind is VisitKind.TREATMENT}
    return tuple(
        visit
        for visit in everything
        if visit.kind is VisitKind.COUNT and visit.state in DECIDED and visit.season not in treated
    )


def _spring(
    programme: Programme,
    lawn: Lawn,
    visit: Visit,
    found: Mapping[str, GrubCount],
    rule: WindowRule,
    rules: BusinessRules,
    now: datetime,
) -> Visit | None:
    if visit.state is VisitState.DONE and visit.key not in found:
        return None
    count = found.get(visit.key) if visit.state is VisitState.DONE else None
    judged = None if count is None else verdict(count, rules.programme)
    reason = _uncounted(visit) if count is None or judged is None else _counted(count, judged, rule, rules)
    allowed = rule.calendar(visit.season.year)
    treatment = treatment_visit(programme, lawn, visit.season, allowed, rule, rules, reason, now)
    called_for = judged is not None and judged.call is Call.TREAT
    return treatment if called_for else replace(treatment, state=VisitState.NOT_NEEDED)


def _uncounted(visit: Visit) -> str:
    return f"nothing called for a treatment in {visit.season.words}: {visit.reason}"


def _counted(count: GrubCount, judged: Verdict, rule: WindowRule, rules: BusinessRules) -> str:
    """The density is cut, not rounded, to a tenth: 159.96 must not read as the 160 that it does not reach."""
    tenths = int(judged.density.per_m2 * 10) / 10
    found = f"the late-winter count of {day_words(count.day)} found {tenths:g} per m2"
    if judged.call is Call.CANNOT_TELL:
        return f"{found}, but that is too early or too late in the year to tell leatherjackets from a count"
    dose, threshold = dose_words(rule.dose_factor), f"{rules.programme.treat_per_m2:g} per m2 or more"
    verb = "calls" if judged.call is Call.TREAT else "would call"
    return f"{found}; {threshold} {verb} for a spring treatment at {dose}"


def dose_words(factor: float) -> str:
    """A dose factor as people say it."""
    return {1.0: "the regular dose", 2.0: "double dose"}.get(factor, f"{factor:g} times the regular dose")
