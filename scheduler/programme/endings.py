"""How open visits end by themselves: their days pass, or nobody recorded them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date

from models.facts.rules import ProgrammeRules
from models.facts.work import Visit, VisitKind, VisitState
from models.units import day_words


def with_endings(visits: Mapping[str, Visit], today: date, rules: ProgrammeRules) -> dict[str, Visit]:
    """The same visits (by key), those whose time is over MISSED with the reason."""
    surveyed = not any(visit.kind is VisitKind.SURVEY and visit.is_open for visit in visits.values())
    return {key: _ended(visit, today, rules, surveyed=surveyed) for key, visit in visits.items()}


def _ended(visit: Visit, today: date, rules: ProgrammeRules, *, surveyed: bool) -> Visit:
    if not visit.is_open:
        return visit
    reason = (
        _unplaced_reason(visit, today, surveyed=surveyed)
        if visit.day is None
        else _unrecorded_reason(visit.day, today, rules)
    )
    return visit if reason is None else replace(visit, state=VisitState.MISSED, reason=reason)


def _unrecorded_reason(day: date, today: date, rules: ProgrammeRules) -> str | None:
    if (today - day).days <= rules.record_within_days:
        return None
    return f"no record of the visit on {day_words(day)}"


def _unplaced_reason(visit: Visit, today: date, *, surveyed: bool) -> str | None:
    if today <= visit.allowed.last:
        return None
    over = f"its days ended on {day_words(visit.allowed.last)} before one was booked"
    if visit.kind is VisitKind.TREATMENT and not surveyed:
        return f"no treatment in {visit.season.words}: {over}; the survey that comes first was not made"
    return f"no {visit.kind} in {visit.season.words}: {over}{_last_word(visit)}"


def _last_word(visit: Visit) -> str:
    """What a visit that had a day once was last told; the first reason only says why it is owed."""
    return f"; {visit.reason}" if visit.revision > 1 else ""
