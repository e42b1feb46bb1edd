"""A soil temperature was read with a probe at a lawn."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, datetime, timedelta

from models.clock import local_day, require_utc
from models.errors import Fault, RefusedInput
from models.facts.readings import Reading
from models.store.engine import Connection, Store
from models.store.people import load_business
from models.store.readings import add_reading, find_reading
from scheduler.entries.desk import find_lawn
from scheduler.entries.text import is_number

SHALLOWEST_CM, DEEPEST_CM = 2.0, 30.0  # above, it reads the air; below, no pocket probe reaches
# A slip of the pen lies beyond these. What soil cannot be within them is kept, and set aside by the filter.
LEAST_C, MOST_C = -40.0, 60.0
OLDEST_DAYS = 30  # engineering choice
TREATMENT_DEPTH_CM = 10.0
TREATMENT_HOUR_SD_H = 2.0  # recorded when the work is done, read before it began (engineering choice)


def record_reading(
    store: Store,
    lawn_key: str,
    taken_at: datetime,
    depth_cm: float,
    value_c: float,
    in_sun: bool,
    now: datetime,
) -> Reading:
    """Keep a probe's reading of `value_c` at `depth_cm`, taken at the aware instant `taken_at`.

    It counts from `now` on, for its own day and later ones. Told twice, gives the first record.
    NotFound for a lawn that is not known; RefusedInput for a depth, a value or an instant that cannot be,
    or where that instant's reading is another one. A value that is merely hard to believe is kept: the
    estimate sets it aside and says so.
    """
    with store.write() as connection:
        lawn = find_lawn(connection, lawn_key)
        zone = load_business(connection).time_zone
        instant = require_utc(taken_at)
        reading = Reading(
            lawn.key, instant, local_day(instant, zone), depth_cm, value_c, in_sun, require_utc(now)
        )
        faults = [*_value_faults(depth_cm, value_c), *_instant_faults(instant, now)]
        if faults:
            raise RefusedInput(f"probe reading of {lawn_key}", faults)
        return _kept(connection, reading)


def keep_treatment_reading(
    connection: Connection, lawn_key: str, day: date, probe_c: float, now: datetime, time_zone: str
) -> None:
    """The reading of a treatment recorded at `now`, in the transaction that records it.

    Its hour is that of the record; recorded on a later day, the hour is as good as not known.
    """
    instant = require_utc(now)
    today = local_day(instant, time_zone)
    late = timedelta(days=(today - day).days)
    hour_sd_h = TREATMENT_HOUR_SD_H if today == day else 12.0
    reading = Reading(lawn_key, instant - late, day, TREATMENT_DEPTH_CM, probe_c, True, instant, hour_sd_h)
    add_reading(connection, reading)


def _kept(connection: Connection, reading: Reading) -> Reading:
    """The reading, or the same told before; RefusedInput where another one stands at its instant."""
    if add_reading(connection, reading):
        return reading
    stands = find_reading(connection, reading.lawn_key, reading.taken_at)
    assert stands is not None
    if _said(stands) != _said(reading):
        where = f"reading at {reading.taken_at:%Y-%m-%d %H:%M} UTC"
        known = f"{stands.value_c:g} °C at {stands.depth_cm:g} cm stands there"
        fault = Fault(where, known, "give the other reading its own minute")
        raise RefusedInput(f"probe reading of {reading.lawn_key}", [fault])
    return stands


def _said(reading: Reading) -> tuple[float, float, bool]:
    return reading.depth_cm, reading.value_c, reading.in_sun


def _value_faults(depth_cm: float, value_c: float) -> Iterator[Fault]:
    if not is_number(depth_cm, SHALLOWEST_CM, DEEPEST_CM):
        remedy = f"read at {SHALLOWEST_CM:g} to {DEEPEST_CM:g} cm, at {TREATMENT_DEPTH_CM:g} cm best"
        yield Fault("depth", f"{depth_cm:g} cm", remedy)
    if not is_number(value_c, LEAST_C, MOST_C):
        yield Fault("value", f"{value_c:g} °C", f"read it again: {LEAST_C:g} to {MOST_C:g} °C")


def _instant_faults(taken_at: datetime, now: datetime) -> Iterator[Fault]:
    written = f"{taken_at:%Y-%m-%d %H:%M} UTC"
    if taken_at > now:
        yield Fault("time", written, f"it lies ahead of now, {now:%Y-%m-%d %H:%M} UTC: give the time it was")
    if taken_at < now - timedelta(days=OLDEST_DAYS):
        yield Fault("time", written, f"give a reading of the last {OLDEST_DAYS} days")
