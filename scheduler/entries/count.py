"""Grubs were counted at a visit."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime

from models.agronomy.counts import verdict
from models.errors import Fault, RefusedInput
from models.facts.step import RenderFeed
from models.facts.work import GrubCount, VisitKind, VisitState
from models.store.engine import Store
from models.store.visits import find_visit
from models.store.work import add_count, find_count
from scheduler.entries.desk import at_the_desk, booking_faults, ended, tell
from scheduler.entries.text import is_number, line_faults

COUNTED_AT = (VisitKind.COUNT, VisitKind.FOLLOW_UP, VisitKind.SURVEY)
LARGEST_SAMPLE_M2 = 1.0  # engineering choice: a larger one is an area of the lawn, not of a sample
MOST_FOUND, MOST_SAMPLES = 1_000, 200


def record_count(
    store: Store,
    render_feed: RenderFeed,
    visit_key: str,
    day: date,
    method: str,
    sample_area_m2: float,
    found: Sequence[int],
    now: datetime,
) -> GrubCount:
    """Record the grubs `found` in each sample of `sample_area_m2` at a booked visit; it is done by that.

    Told twice, gives the first record. NotFound where there is no such visit; RefusedInput where it was
    not booked for that day or a number cannot be.
    """
    with store.read() as connection:
        first = find_count(connection, visit_key)
    if first is not None:
        return first
    with at_the_desk(store, now) as desk:
        if (first := find_count(desk.connection, visit_key)) is not None:
            return first
        visit = find_visit(desk.connection, visit_key)
        faults = booking_faults(visit, COUNTED_AT, day, desk)
        if faults := [*faults, *sample_faults(method, sample_area_m2, found)]:
            raise RefusedInput(f"count {visit_key}", faults)
        count = GrubCount(visit_key, visit.lawn_key, day, method, sample_area_m2, tuple(found), now)
        add_count(desk.connection, count)
        words = verdict(count, desk.business.rules.programme).sentence
        tell(desk, render_feed, [visit], [ended(visit, VisitState.DONE, words, now)])
        return count


def sample_faults(method: str, sample_area_m2: float, found: Sequence[int]) -> list[Fault]:
    """What is wrong with the numbers of a count."""
    faults = list(line_faults("method", method))
    if not (is_number(sample_area_m2, 0, LARGEST_SAMPLE_M2) and sample_area_m2 > 0):
        remedy = f"give the area of one sample, above 0 to {LARGEST_SAMPLE_M2} m2"
        faults.append(Fault("area of a sample", f"{sample_area_m2} m2", remedy))
    if not 1 <= len(found) <= MOST_SAMPLES:
        faults.append(Fault("samples", f"{len(found)}", f"give 1 to {MOST_SAMPLES} counts"))
    for place, grubs in enumerate(found, start=1):
        if not 0 <= grubs <= MOST_FOUND:
            faults.append(Fault(f"sample {place}", f"{grubs} grubs", f"give 0 to {MOST_FOUND}"))
    return faults
