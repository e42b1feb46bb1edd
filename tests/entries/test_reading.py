"""A probe's reading is kept once, refused in one sentence, and comes along with a treatment."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta, timezone

import pytest

from models.errors import Fault, NotFound, RefusedInput
from models.facts.readings import Reading
from models.store.engine import Store
from models.store.readings import find_reading, load_readings
from scheduler.entries.reading import record_reading
from scheduler.entries.treatment import record_treatment
from tests.entries.scene import LAWN, NOW, TODAY, TREATMENT, plain_feed, records, set_up

TAKEN = datetime(2024, 9, 16, 9, 30, tzinfo=UTC)
READ = Reading(LAWN.key, TAKEN, TODAY, 10.0, 13.4, True, recorded_at=NOW)


def kept(store: Store) -> tuple[Reading, ...]:
    with store.read() as connection:
        return load_readings(connection, LAWN.key)


def test_a_reading_is_kept_as_it_was_told_and_changes_nothing_else(store: Store) -> None:
    set_up(store)
    before = records(store)
    assert record_reading(store, LAWN.key, TAKEN, 10.0, 13.4, True, NOW) == READ
    assert kept(store) == (READ,)
    assert records(store) == before


def test_told_twice_the_first_record_stands(store: Store) -> None:
    set_up(store)
    record_reading(store, LAWN.key, TAKEN, 10.0, 13.4, True, NOW)
    again = record_reading(store, LAWN.key, TAKEN, 10.0, 13.4, True, NOW + timedelta(hours=1))
    assert (again, kept(store)) == (READ, (READ,))


def test_an_instant_is_the_same_in_every_time_zone_and_its_day_is_the_lawns(store: Store) -> None:
    set_up(store)
    late = datetime(2024, 9, 15, 23, 30, tzinfo=UTC)  # 00:30 on the 16th in Dublin, summer time
    there = late.astimezone(timezone(timedelta(hours=9)))
    assert record_reading(store, LAWN.key, there, 10.0, 13.4, False, NOW).day == TODAY
    assert record_reading(store, LAWN.key, late, 10.0, 13.4, False, NOW).taken_at == late
    assert len(kept(store)) == 1


def refused(store: Store, taken_at: datetime, depth_cm: float, value_c: float) -> tuple[Fault, ...]:
    before = kept(store)
    with pytest.raises(RefusedInput) as refusal:
        record_reading(store, LAWN.key, taken_at, depth_cm, value_c, True, NOW)
    assert kept(store) == before
    return refusal.value.faults


def test_another_reading_of_the_same_instant_is_refused(store: Store) -> None:
    set_up(store)
    record_reading(store, LAWN.key, TAKEN, 10.0, 13.4, True, NOW)
    assert refused(store, TAKEN, 10.0, 12.9) == (
        Fault(
            "reading at 2024-09-16 09:30 UTC",
            "13.4 °C at 10 cm stands there",
            "give the other reading its own minute",
        ),
    )


@pytest.mark.parametrize("depth_cm", [0.0, -5.0, 31.0, float("nan"), float("inf")])
def test_a_depth_that_no_probe_reaches_is_refused(store: Store, depth_cm: float) -> None:
    set_up(store)
    assert refused(store, TAKEN, depth_cm, 13.4) == (
        Fault("depth", f"{depth_cm:g} cm", "read at 2 to 30 cm, at 10 cm best"),
    )


@pytest.mark.parametrize("value_c", [-41.0, 134.0, float("nan"), float("-inf")])
def test_a_value_that_is_a_slip_of_the_pen_is_refused(store: Store, value_c: float) -> None:
    set_up(store)
    assert refused(store, TAKEN, 10.0, value_c) == (
        Fault("value", f"{value_c:g} °C", "read it again: -40 to 60 °C"),
    )


def test_a_value_that_is_hard_to_believe_is_kept(store: Store) -> None:
    set_up(store)
    record_reading(store, LAWN.key, TAKEN, 10.0, 45.0, True, NOW)
    assert [one.value_c for one in kept(store)] == [45.0]


@pytest.mark.parametrize(
    ("taken_at", "remedy"),
    [
        (NOW + timedelta(minutes=1), "it lies ahead of now, 2024-09-16 11:00 UTC: give the time it was"),
        (NOW - timedelta(days=31), "give a reading of the last 30 days"),
    ],
)
def test_a_time_that_cannot_be_is_refused(store: Store, taken_at: datetime, remedy: str) -> None:
    set_up(store)
    written = f"{taken_at:%Y-%m-%d %H:%M} UTC"
    assert refused(store, taken_at, 10.0, 13.4) == (Fault("time", written, remedy),)


def test_a_time_without_a_zone_is_no_instant(store: Store) -> None:
    set_up(store)
    with pytest.raises(ValueError, match="has no time zone"):
        record_reading(store, LAWN.key, TAKEN.replace(tzinfo=None), 10.0, 13.4, True, NOW)


def test_a_lawn_that_is_not_known_is_said(store: Store) -> None:
    set_up(store)
    with pytest.raises(NotFound, match="lawn 'nowhere' is not known"):
        record_reading(store, "nowhere", TAKEN, 10.0, 13.4, True, NOW)


def test_a_treatments_probe_is_a_reading_at_10_cm_at_the_hour_it_was_recorded(store: Store) -> None:
    set_up(store)
    record_treatment(store, plain_feed, TREATMENT.key, TODAY, 12.5, NOW)
    record_treatment(store, plain_feed, TREATMENT.key, TODAY, 9.9, NOW + timedelta(hours=3))
    assert kept(store) == (Reading(LAWN.key, NOW, TODAY, 10.0, 12.5, True, recorded_at=NOW, hour_sd_h=2.0),)


def test_a_treatment_recorded_the_day_after_has_its_own_day_and_no_hour(store: Store) -> None:
    set_up(store)
    next_day = NOW + timedelta(days=1)
    record_treatment(store, plain_feed, TREATMENT.key, TODAY, 12.5, next_day)
    assert kept(store) == (
        Reading(LAWN.key, NOW, TODAY, 10.0, 12.5, True, recorded_at=next_day, hour_sd_h=12.0),
    )


def test_a_treatment_without_a_probe_or_refused_leaves_no_reading(store: Store) -> None:
    set_up(store)
    with pytest.raises(RefusedInput):
        record_treatment(store, plain_feed, TREATMENT.key, TODAY, 8.0, NOW)
    record_treatment(store, plain_feed, TREATMENT.key, TODAY, None, NOW)
    assert kept(store) == ()


def test_a_reading_is_found_by_its_lawn_and_instant(store: Store) -> None:
    set_up(store)
    record_reading(store, LAWN.key, TAKEN, 10.0, 13.4, True, NOW)
    with store.read() as connection:
        assert find_reading(connection, LAWN.key, TAKEN) == READ
        assert find_reading(connection, LAWN.key, TAKEN + timedelta(minutes=1)) is None
    assert date(2024, 9, 16) == READ.day
