"""A lawn was surveyed."""

from __future__ import annotations

from datetime import date, datetime

from models.errors import RefusedInput
from models.facts.step import RenderFeed
from models.facts.work import Visit, VisitKind, VisitState
from models.store.engine import Store
from models.store.visits import find_visit
from models.units import day_words
from scheduler.entries.desk import at_the_desk, booking_faults, ended, tell


def record_survey(store: Store, render_feed: RenderFeed, visit_key: str, day: date, now: datetime) -> Visit:
    """Record that a booked survey was done on `day`. Told twice, nothing changes the second time.

    NotFound where there is no such visit; RefusedInput where it is none, or not booked for that day.
    """
    with store.read() as connection:
        seen = find_visit(connection, visit_key)
    if _told(seen, day):
        return seen
    with at_the_desk(store, now) as desk:
        visit = find_visit(desk.connection, visit_key)
        if faults := booking_faults(visit, [VisitKind.SURVEY], day, desk):
            raise RefusedInput(f"survey {visit_key}", faults)
        after = ended(visit, VisitState.DONE, f"Surveyed on {day_words(day)}", now)
        tell(desk, render_feed, [visit], [after])
        return after


def _told(visit: Visit, day: date) -> bool:
    return visit.kind is VisitKind.SURVEY and visit.state is VisitState.DONE and visit.day == day
