"""A treatment is recorded as it was done, or refused with the reason and the remedy."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest

from models.errors import Fault, NotFound, RefusedInput
from models.facts.post import Message, MessageKind
from models.facts.season import Turn, Window
from models.facts.work import PacksUsed, Treatment, VisitState
from models.store.engine import Store
from models.store.visits import load_changes
from notifiers.calendar import render_feed
from scheduler.entries.treatment import not_treated, record_treatment
from tests.entries.scene import (
    CLIENT,
    EARLY_BATCH,
    EXPIRED_BATCH,
    LAWN,
    NOW,
    OPEN,
    SURVEY,
    TODAY,
    TREATMENT,
    plain_feed,
    records,
    set_up,
)

LATER = NOW + timedelta(hours=3)
DONE = Treatment(
    visit_key=TREATMENT.key,
    lawn_key=LAWN.key,
    day=TODAY,
    area_m2=150.0,
    dose_factor=1.0,
    packs=(PacksUsed("early", 1), PacksUsed("late", 1)),  # common practice: 150 m2 is 2 packs of 100 m2
    probe_c=12.5,
    wash_in_mm=6.0,
    recorded_at=NOW,
)
DONE_VISIT = replace(
    TREATMENT,
    state=VisitState.DONE,
    revision=3,
    reason="Treated on 16 September with 2 pack(s) on 150 m2",
    changed_at=NOW,
)
MESSAGE = Message(
    key=f"treatment:{TREATMENT.key}:done",
    kind=MessageKind.TREATMENT_DONE,
    recipient=CLIENT.key,
    payload={
        "client": CLIENT.key,
        "lawn": LAWN.key,
        "lawn_name": "Sorrelby back lawn",
        "area_m2": 150.0,
        "tap_litres_per_minute": 15.0,
        "visit": TREATMENT.key,
        "season": "autumn 2024",
        "day": "2024-09-16",
        "dose_factor": 1.0,
        "packs": 2,
        "probe_c": 12.5,
        "wash_in_mm": 6.0,
        "wash_in_litres": 900.0,  # 1 mm is 1 L/m2
        "wash_in_minutes": 60.0,
        "moist_from": "2024-09-17",
        "moist_until": "2024-09-30",  # common practice: two weeks
        "moist_days": 14,
    },
    caused_at=NOW,
    not_before=NOW,
)


def test_a_treatment_is_kept_told_and_taken_from_the_packs_that_expire_first(store: Store) -> None:
    set_up(store)
    before = records(store)
    assert record_treatment(store, plain_feed, TREATMENT.key, TODAY, 12.5, NOW) == DONE
    assert records(store) == replace(
        before,
        revision=before.revision + 1,
        visits=(DONE_VISIT,),
        treatments=(DONE,),
        packs_left={"expired": 4, "early": 0, "late": 2},
        messages=(MESSAGE,),
        feed="treatment 2024-09-16 rev 3 done",
    )


def test_told_twice_the_first_record_stands(store: Store) -> None:
    set_up(store)
    record_treatment(store, plain_feed, TREATMENT.key, TODAY, 12.5, NOW)
    once = records(store)
    assert record_treatment(store, plain_feed, TREATMENT.key, TODAY, 9.9, LATER) == DONE
    assert records(store) == once


def test_the_calendar_feed_is_changed_in_the_same_breath(store: Store) -> None:
    set_up(store)
    record_treatment(store, render_feed, TREATMENT.key, TODAY, None, NOW)
    feed = records(store).feed
    assert feed is not None
    # RFC 5545, 3.8.7.4: each change raises the sequence number; the first revision has 0.
    assert "SEQUENCE:2\r\n" in feed


def refused(store: Store, day: date = TODAY, probe_c: float | None = 12.5) -> tuple[Fault, ...]:
    """The faults for which the treatment is refused; and that nothing was changed by it."""
    before = records(store)
    with pytest.raises(RefusedInput) as refusal:
        record_treatment(store, plain_feed, TREATMENT.key, day, probe_c, NOW)
    assert records(store) == before
    return refusal.value.faults


WINDOW = "window against leatherjackets in autumn 2024"


def test_refused_on_a_day_on_which_the_window_was_shut(store: Store) -> None:
    shut = Turn(TODAY, False, "7-day mean is 9.4 °C; needs 10.0 °C")
    set_up(store, window=replace(OPEN, turns=(*OPEN.turns, shut), reason=shut.reason))
    assert refused(store) == (
        Fault(
            WINDOW,
            "shut on 2024-09-16: 7-day mean is 9.4 °C; needs 10.0 °C",
            "record it as not treated",
        ),
    )


@pytest.mark.parametrize("window", [None, replace(OPEN, judged_to=TODAY - timedelta(days=1))])
def test_refused_while_the_day_is_not_decided(store: Store, window: Window | None) -> None:
    set_up(store, window=window)
    assert refused(store) == (
        Fault(WINDOW, "not decided for 2024-09-16", "run the windows step, or record it as not treated"),
    )


def test_refused_where_the_probe_says_too_cold(store: Store) -> None:
    set_up(store)
    assert refused(store, probe_c=8.9) == (
        Fault("probe reading", "8.9 °C, 9.0 °C at least is needed", "record it as not treated"),
    )


def test_taken_where_the_probe_agrees_within_a_degree(store: Store) -> None:
    set_up(store)
    assert record_treatment(store, plain_feed, TREATMENT.key, TODAY, 9.0, NOW).probe_c == 9.0


@pytest.mark.parametrize("probe_c", [-40.0, 99.0, float("nan"), float("inf")])
def test_refused_where_the_probe_was_misread(store: Store, probe_c: float) -> None:
    set_up(store)
    assert [fault.where for fault in refused(store, probe_c=probe_c)] == ["probe reading"]


def test_refused_where_packs_in_date_do_not_suffice(store: Store) -> None:
    set_up(store, batches=(EARLY_BATCH, EXPIRED_BATCH))
    assert refused(store) == (
        Fault(
            "packs",
            "16 September needs 2 pack(s); in date in the fridge: 1; past their best before: 4",
            "record it as not treated, or record the delivery first",
        ),
    )


def test_refused_on_another_day_and_ahead_of_time_with_every_reason(store: Store) -> None:
    set_up(store)
    tomorrow = TODAY + timedelta(days=1)
    assert [(fault.where, fault.value) for fault in refused(store, day=tomorrow)] == [
        (f"visit {TREATMENT.key}", "2024-09-17 given, booked for 2024-09-16"),
        (f"visit {TREATMENT.key}", "2024-09-17 lies ahead of today, 2024-09-16"),
        (WINDOW, "not decided for 2024-09-17"),
    ]


def test_refused_where_the_visit_is_no_booked_treatment(store: Store) -> None:
    set_up(store, visits=(replace(TREATMENT, state=VisitState.OWED, day=None, reason="It was wet"),))
    assert refused(store) == (
        Fault(f"visit {TREATMENT.key}", "it is owed: It was wet", "only a booked visit is recorded"),
    )


def test_a_survey_is_not_treated(store: Store) -> None:
    set_up(store, visits=(SURVEY,))
    with pytest.raises(RefusedInput, match="it is a survey - give a treatment"):
        record_treatment(store, plain_feed, SURVEY.key, TODAY, None, NOW)


def test_an_unknown_visit_is_not_found(store: Store) -> None:
    set_up(store)
    with pytest.raises(NotFound, match="visit 'nowhere' is not known"):
        record_treatment(store, plain_feed, "nowhere", TODAY, None, NOW)


NOT_TREATED_VISIT = replace(
    TREATMENT,
    state=VisitState.OWED,
    day=None,
    revision=3,
    reason="Not treated on 16 September: The gate was locked",
    changed_at=NOW,
)


def test_not_treated_is_owed_again_and_the_packs_stay(store: Store) -> None:
    set_up(store)
    before = records(store)
    gate = "The gate was locked"
    assert not_treated(store, plain_feed, TREATMENT.key, TODAY, gate, NOW) == NOT_TREATED_VISIT
    after = records(store)
    assert after == replace(
        before,
        revision=before.revision + 1,
        visits=(NOT_TREATED_VISIT,),
        messages=after.messages,
        feed="",
    )
    (message,) = after.messages
    assert (message.key, message.kind, message.recipient) == (
        f"visit:{TREATMENT.key}:rev3:moved",
        MessageKind.VISIT_MOVED,
        CLIENT.key,
    )
    assert message.payload == {
        "client": CLIENT.key,
        "lawn": LAWN.key,
        "lawn_name": "Sorrelby back lawn",
        "area_m2": 150.0,
        "tap_litres_per_minute": 15.0,
        "visit": TREATMENT.key,
        "kind": "treatment",
        "season": "autumn 2024",
        "state": "owed",
        "day": None,
        "from_day": "2024-09-16",
        "minutes": 36,
        "packs": 2,
        "revision": 3,
        "reason": "Not treated on 16 September: The gate was locked",
    }


def test_not_treated_told_twice_changes_nothing(store: Store) -> None:
    set_up(store)
    not_treated(store, plain_feed, TREATMENT.key, TODAY, "The gate was locked", NOW)
    once = records(store)
    again = not_treated(store, plain_feed, TREATMENT.key, TODAY, "The gate was locked", LATER)
    assert again == NOT_TREATED_VISIT
    assert records(store) == once


@pytest.mark.parametrize("reason", ["", "   ", "wet\nBcc: all@clients.example", "wet\u202ecold"])
def test_a_reason_is_one_printable_line(store: Store, reason: str) -> None:
    set_up(store)
    before = records(store)
    with pytest.raises(RefusedInput, match="the reason"):
        not_treated(store, plain_feed, TREATMENT.key, TODAY, reason, NOW)
    assert records(store) == before


def test_every_revision_keeps_its_reason(store: Store) -> None:
    set_up(store)
    not_treated(store, plain_feed, TREATMENT.key, TODAY, "The gate was locked", NOW)
    with store.read() as connection:
        changes = load_changes(connection, TREATMENT.key)
    assert [(change.revision, change.state, change.reason) for change in changes] == [
        (2, VisitState.BOOKED, "Booked inside the window"),
        (3, VisitState.OWED, "Not treated on 16 September: The gate was locked"),
    ]


def test_a_message_caused_in_the_night_waits_for_seven_in_the_morning(store: Store) -> None:
    set_up(store)
    night = datetime(2024, 9, 16, 2, 0, tzinfo=UTC)
    record_treatment(store, plain_feed, TREATMENT.key, TODAY, None, night)
    (message,) = records(store).messages
    # 07:00 Irish summer time is 06:00 UTC.
    assert message.not_before == datetime(2024, 9, 16, 6, 0, tzinfo=UTC)
