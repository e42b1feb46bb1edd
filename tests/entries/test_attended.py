"""Surveys and counts: a booked visit is done by being told, once."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest

from models.errors import Fault, NotFound, RefusedInput
from models.facts.work import GrubCount, VisitState
from models.store.engine import Store
from scheduler.entries.count import record_count
from scheduler.entries.survey import record_survey
from tests.entries.scene import (
    COUNT,
    LAWN,
    NOW,
    OWED_FOLLOW_UP,
    SURVEY,
    TODAY,
    TREATMENT,
    plain_feed,
    records,
    set_up,
)

LATER = NOW + timedelta(hours=3)
METHOD = "four dug squares of 15 cm"
GRUBS = GrubCount(COUNT.key, LAWN.key, TODAY, METHOD, 0.0232, (4, 6, 3, 5), NOW)
SURVEYED = replace(
    SURVEY, state=VisitState.DONE, revision=3, reason="Surveyed on 16 September", changed_at=NOW
)


def test_a_survey_is_done(store: Store) -> None:
    set_up(store, visits=(SURVEY,))
    before = records(store)
    assert record_survey(store, plain_feed, SURVEY.key, TODAY, NOW) == SURVEYED
    assert records(store) == replace(
        before, revision=before.revision + 1, visits=(SURVEYED,), feed="survey 2024-09-16 rev 3 done"
    )


def test_a_survey_told_twice_changes_nothing(store: Store) -> None:
    set_up(store, visits=(SURVEY,))
    record_survey(store, plain_feed, SURVEY.key, TODAY, NOW)
    once = records(store)
    assert record_survey(store, plain_feed, SURVEY.key, TODAY, LATER) == SURVEYED
    assert records(store) == once


def test_a_survey_is_refused_where_the_visit_is_another(store: Store) -> None:
    set_up(store)
    before = records(store)
    with pytest.raises(RefusedInput) as refusal:
        record_survey(store, plain_feed, TREATMENT.key, TODAY, NOW)
    assert refusal.value.faults == (Fault(f"visit {TREATMENT.key}", "it is a treatment", "give a survey"),)
    assert records(store) == before


def test_a_count_is_kept_and_its_verdict_is_the_reason(store: Store) -> None:
    set_up(store, visits=(COUNT,))
    before = records(store)
    told = record_count(store, plain_feed, COUNT.key, TODAY, METHOD, 0.0232, [4, 6, 3, 5], NOW)
    assert told == GRUBS
    counted = replace(
        COUNT,
        state=VisitState.DONE,
        revision=3,
        reason="18 found in 0.093 m2 is 194 a m2 (115 to 307 at best): "
        "too early or too late in the year to tell leatherjackets from a count.",
        changed_at=NOW,
    )
    assert records(store) == replace(
        before,
        revision=before.revision + 1,
        visits=(counted,),
        counts=(GRUBS,),
        feed="late-winter count 2024-09-16 rev 3 done",
    )


def test_a_count_told_twice_keeps_the_first(store: Store) -> None:
    set_up(store, visits=(COUNT,))
    record_count(store, plain_feed, COUNT.key, TODAY, METHOD, 0.0232, [4, 6, 3, 5], NOW)
    once = records(store)
    assert record_count(store, plain_feed, COUNT.key, TODAY, METHOD, 0.0232, [0], LATER) == GRUBS
    assert records(store) == once


def test_a_count_that_cannot_be_is_refused_with_every_fault(store: Store) -> None:
    set_up(store, visits=(COUNT,))
    before = records(store)
    with pytest.raises(RefusedInput) as refusal:
        record_count(store, plain_feed, COUNT.key, date(2024, 9, 15), "dug\x00", 0.0, [3, -1, 5000], NOW)
    assert [(fault.where, fault.value) for fault in refusal.value.faults] == [
        (f"visit {COUNT.key}", "2024-09-15 given, booked for 2024-09-16"),
        ("method", "'dug\\x00'"),
        ("area of a sample", "0.0 m2"),
        ("sample 2", "-1 grubs"),
        ("sample 3", "5000 grubs"),
    ]
    assert records(store) == before


@pytest.mark.parametrize("found", [[], [1] * 201])
def test_a_count_has_samples(store: Store, found: list[int]) -> None:
    set_up(store, visits=(COUNT,))
    with pytest.raises(RefusedInput, match="samples: "):
        record_count(store, plain_feed, COUNT.key, TODAY, METHOD, 0.02, found, NOW)


def test_only_what_is_booked_is_counted(store: Store) -> None:
    set_up(store, visits=(OWED_FOLLOW_UP,))
    with pytest.raises(RefusedInput, match="only a booked visit is recorded"):
        record_count(store, plain_feed, OWED_FOLLOW_UP.key, TODAY, METHOD, 0.02, [1], NOW)
    with pytest.raises(NotFound, match="visit 'nowhere' is not known"):
        record_count(store, plain_feed, "nowhere", TODAY, METHOD, 0.02, [1], NOW)
