"""From the visits as they were and a plan to the visits that change, each with its revision raised."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime

from models.facts.work import Visit, VisitState
from scheduler.booking.plan import Placement, Plan


def changes(before: Iterable[Visit], plan: Plan, now: datetime) -> tuple[Visit, ...]:
    """Visits with a new day, and booked ones that lost theirs; all others are left untouched."""
    changed = (_changed(visit, plan, now) for visit in before)
    return tuple(visit for visit in changed if visit is not None)


def _changed(visit: Visit, plan: Plan, now: datetime) -> Visit | None:
    placement = plan.placed.get(visit.key)
    if placement is not None:
        return _booked(visit, placement, now)
    if visit.state is VisitState.BOOKED and visit.key in plan.unplaced:
        return _next(visit, VisitState.OWED, None, plan.unplaced[visit.key].why, now)
    return None


def _booked(visit: Visit, placement: Placement, now: datetime) -> Visit | None:
    if visit.state is VisitState.BOOKED and visit.day == placement.day:
        return None
    return _next(visit, VisitState.BOOKED, placement, placement.reason, now)


def _next(visit: Visit, state: VisitState, placement: Placement | None, reason: str, now: datetime) -> Visit:
    day = None if placement is None else placement.day
    return replace(visit, state=state, day=day, reason=reason, revision=visit.revision + 1, changed_at=now)
