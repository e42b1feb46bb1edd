"""What a lawn is owed today: its programme, and what counts, treatments and time change in it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import date, datetime

from models.facts.place import Lawn
from models.facts.rules import BusinessRules
from models.facts.work import GrubCount, Programme, Treatment, Visit, VisitKind, VisitState
from models.units import day_words
from scheduler.programme.checks import follow_up_checks
from scheduler.programme.endings import with_endings
from scheduler.programme.pattern import survey_visit, whole_pattern
from scheduler.programme.springs import spring_treatments

Known = dict[str, Visit]


def owed(
    programme: Programme,
    lawn: Lawn,
    visits: Sequence[Visit],
    counts: Iterable[GrubCount],
    treatments: Iterable[Treatment],
    today: date,
    rules: BusinessRules,
    now: datetime,
    *,
    renewed: bool = False,
) -> tuple[Visit, ...]:
    """New or changed visits of a programme, each change with its revision raised; () when all stands.

    `visits` are all of the programme's, ended ones too; `counts` and `treatments` may be those of many
    lawns; a `renewed` programme follows an earlier one on the same lawn and has no survey. Told what it
    gave, it gives nothing more on that day.
    """
    before = {visit.key: visit for visit in visits}
    known = dict(before) or _by_key(whole_pattern(programme, lawn, rules, now, renewed=renewed))
    known = with_endings(known, today, rules.programme)
    known |= _new(spring_treatments(programme, lawn, known.values(), counts, rules, now), known)
    known |= _new(follow_up_checks(programme, known, treatments, rules, now), known)
    known |= _new(_another_survey(programme, known.values(), today, rules, now), known)
    known = with_endings(known, today, rules.programme)
    return tuple(
        _revised(visit, before.get(key), now) for key, visit in known.items() if visit != before.get(key)
    )


def finished(programme: Programme, visits: Iterable[Visit], today: date) -> str | None:
    """The sentence with which a programme is over: all its visits ended and its days past; else None."""
    everything = tuple(visits)
    if not everything or any(visit.is_open for visit in everything):
        return None
    last = max(visit.allowed.last for visit in everything)
    if today <= last:
        return None
    return f"its {programme.years} years are over: the last of its days was {day_words(last)} {last.year}"


def _by_key(visits: Iterable[Visit]) -> Known:
    return {visit.key: visit for visit in visits}


def _new(visits: Iterable[Visit], known: Known) -> Known:
    return {visit.key: visit for visit in visits if visit.key not in known}


def _revised(visit: Visit, before: Visit | None, now: datetime) -> Visit:
    return replace(visit, revision=1 if before is None else before.revision + 1, changed_at=now)


def _another_survey(
    programme: Programme, visits: Iterable[Visit], today: date, rules: BusinessRules, now: datetime
) -> tuple[Visit, ...]:
    """A survey that was missed is asked for again, for no treatment is booked without one."""
    everything = tuple(visits)
    surveys = [visit for visit in everything if visit.kind is VisitKind.SURVEY]
    if not surveys or any(visit.state is not VisitState.MISSED for visit in surveys):
        return ()
    if not any(visit.is_open and visit.kind is VisitKind.TREATMENT for visit in everything):
        return ()
    reason = "the survey was missed, and no treatment is booked before one"
    return (survey_visit(programme, len(surveys) + 1, today, rules, reason, now),)
