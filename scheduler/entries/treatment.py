"""A treatment was done, or was not: what the person on the lawn says in the evening."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime

from models.agronomy.dosing import dose
from models.errors import Fault, RefusedInput
from models.facts.place import Lawn
from models.facts.season import Window, WindowRule
from models.facts.step import RenderFeed
from models.facts.work import PacksUsed, Programme, Treatment, Visit, VisitKind, VisitState
from models.store.engine import Store
from models.store.stock import load_batches, take_packs
from models.store.visits import find_visit
from models.store.windows import windows_of
from models.store.work import add_treatment, find_treatment
from models.units import day_words
from scheduler.announcements import treatment_message
from scheduler.entries.desk import Desk, at_the_desk, booking_faults, ended, find_lawn, find_programme, tell
from scheduler.entries.reading import keep_treatment_reading
from scheduler.entries.text import is_number, require_line
from scheduler.stock.allocate import Shortage, fefo

PROBE_TOLERANCE_C = 1.0  # engineering choice: a probe in one spot of the lawn against the mean of a week
COLDEST_C, WARMEST_C = -10.0, 40.0  # beyond these the probe was misread

INSTEAD = "record it as not treated"


@dataclass(frozen=True, slots=True)
class Case:
    """All that a treatment is checked against."""

    visit: Visit
    lawn: Lawn
    programme: Programme
    window: Window | None
    rule: WindowRule | None
    packs: tuple[PacksUsed, ...] | Shortage


def record_treatment(
    store: Store,
    render_feed: RenderFeed,
    visit_key: str,
    day: date,
    probe_c: float | None,
    now: datetime,
) -> Treatment:
    """Record that the lawn of a booked treatment was treated on `day`; `probe_c` None: not read.

    Takes the packs that expire first out of the fridge, tells the client, and keeps the probe's reading
    for the lawn's own soil. Told twice, gives the first record. NotFound where there is no such visit;
    RefusedInput where it was not booked for that day, the window was shut, the probe says too cold, or
    packs in date do not suffice.
    """
    with store.read() as connection:
        first = find_treatment(connection, visit_key)
    return first or _record(store, render_feed, visit_key, day, probe_c, now)


def _record(
    store: Store, render_feed: RenderFeed, visit_key: str, day: date, probe_c: float | None, now: datetime
) -> Treatment:
    with at_the_desk(store, now) as desk:
        if (first := find_treatment(desk.connection, visit_key)) is not None:
            return first
        case = _case(desk, find_visit(desk.connection, visit_key), day)
        treatment = _checked(case, desk, day, probe_c)
        add_treatment(desk.connection, treatment)
        if probe_c is not None:
            zone = desk.business.time_zone
            keep_treatment_reading(desk.connection, case.lawn.key, day, probe_c, now, zone)
        take_packs(desk.connection, treatment.packs)
        after = ended(case.visit, VisitState.DONE, _done_words(treatment), now)
        rules = desk.business.rules.watering
        message = treatment_message(treatment, after, case.lawn, rules, now, desk.not_before)
        tell(desk, render_feed, [case.visit], [after], [message])
        return treatment


def not_treated(
    store: Store, render_feed: RenderFeed, visit_key: str, day: date, reason: str, now: datetime
) -> Visit:
    """Record that a booked treatment was not given on `day`, and why. It is owed again from now on.

    No pack leaves the fridge. Told twice, nothing changes. NotFound, RefusedInput as above.
    """
    require_line("not treated", "the reason", reason)
    words = f"Not treated on {day_words(day)}: {reason}"
    with store.read() as connection:
        seen = find_visit(connection, visit_key)
    if seen.state is VisitState.OWED and seen.reason == words:
        return seen
    with at_the_desk(store, now) as desk:
        visit = find_visit(desk.connection, visit_key)
        if faults := booking_faults(visit, [VisitKind.TREATMENT], day, desk):
            raise RefusedInput(f"not treated, {visit_key}", faults)
        after = replace(ended(visit, VisitState.OWED, words, now), day=None)
        tell(desk, render_feed, [visit], [after])
        return after


def _case(desk: Desk, visit: Visit, day: date) -> Case:
    lawn = find_lawn(desk.connection, visit.lawn_key)
    programme = find_programme(desk.connection, visit.programme_key)
    windows = windows_of(desk.connection, lawn.key)
    rules = desk.business.rules
    rule = rules.window_rule(programme.pest, visit.season.name)
    factor = 1.0 if rule is None else rule.dose_factor
    batches = [batch for batch in load_batches(desk.connection) if batch.species is programme.species]
    return Case(
        visit=visit,
        lawn=lawn,
        programme=programme,
        window=next((w for w in windows if w.season == visit.season and w.pest is programme.pest), None),
        rule=rule,
        packs=fefo(batches, dose(lawn.area_m2, factor, rules.dose).packs, day),
    )


def _checked(case: Case, desk: Desk, day: date, probe_c: float | None) -> Treatment:
    """The treatment as it will be kept, or RefusedInput with all that speaks against it."""
    faults = [
        *booking_faults(case.visit, [VisitKind.TREATMENT], day, desk),
        *_window_faults(case, day),
        *_probe_faults(case.rule, probe_c),
        *_pack_faults(case.packs),
    ]
    if faults or case.rule is None or isinstance(case.packs, Shortage):
        raise RefusedInput(f"treatment of {case.lawn.name}", faults)
    return Treatment(
        visit_key=case.visit.key,
        lawn_key=case.lawn.key,
        day=day,
        area_m2=case.lawn.area_m2,
        dose_factor=case.rule.dose_factor,
        packs=case.packs,
        probe_c=probe_c,
        wash_in_mm=desk.business.rules.dose.wash_in_mm,
        recorded_at=desk.now,
    )


def _window_faults(case: Case, day: date) -> list[Fault]:
    where = f"window against {case.programme.pest} in {case.visit.season.words}"
    if case.rule is None:
        return [Fault(where, "the business has no rule for it", INSTEAD)]
    if case.window is None or case.window.judged_to is None or case.window.judged_to < day:
        return [Fault(where, f"not decided for {day}", f"run the windows step, or {INSTEAD}")]
    if case.window.was_open(day):
        return []
    return [Fault(where, f"shut on {day}: {_reason_on(case.window, day)}", INSTEAD)]


def _reason_on(window: Window, day: date) -> str:
    """The sentence that held on `day`: today's, or that of the turn before."""
    if day == window.judged_to:
        return window.reason
    turns = [turn for turn in window.turns if turn.day <= day]
    return turns[-1].reason if turns else "it had not opened yet"


def _probe_faults(rule: WindowRule | None, probe_c: float | None) -> Sequence[Fault]:
    if probe_c is None or rule is None:
        return []
    if not is_number(probe_c, COLDEST_C, WARMEST_C):
        return [Fault("probe reading", f"{probe_c} °C", f"read it again: {COLDEST_C} to {WARMEST_C} °C")]
    if probe_c < rule.limit_c - PROBE_TOLERANCE_C:
        needed = f"{rule.limit_c - PROBE_TOLERANCE_C} °C at least is needed"
        return [Fault("probe reading", f"{probe_c} °C, {needed}", INSTEAD)]
    return []


def _pack_faults(packs: tuple[PacksUsed, ...] | Shortage) -> Sequence[Fault]:
    if not isinstance(packs, Shortage):
        return []
    return [Fault("packs", packs.reason, f"{INSTEAD}, or record the delivery first")]


def _done_words(treatment: Treatment) -> str:
    packs = sum(used.packs for used in treatment.packs)
    return f"Treated on {day_words(treatment.day)} with {packs} pack(s) on {treatment.area_m2:.0f} m2"
