"""A client says that a lawn was watered."""

from __future__ import annotations

from datetime import date, datetime, timedelta

from models.clock import local_day
from models.errors import Fault, RefusedInput
from models.facts.work import Watering
from models.store.engine import Store
from models.store.people import load_business
from models.store.watering import add_watering
from scheduler.entries.desk import find_lawn
from scheduler.entries.text import is_number

MOST_MM = 50.0  # more than 50 mm in a day is a slip of the pen (engineering choice)
OLDEST_DAYS = 14


def watered(store: Store, lawn_key: str, day: date, depth_mm: float, now: datetime) -> None:
    """Keep `depth_mm` as the water of `day`; told again with another depth, the last word counts.

    NotFound for a lawn that is not known; RefusedInput for a depth that is not above 0 and at most 50 mm,
    or a day in the future or more than 14 days back. Nothing is changed then.
    """
    with store.write() as connection:
        today = local_day(now, load_business(connection).time_zone)
        find_lawn(connection, lawn_key)
        if faults := (*_depth_faults(depth_mm), *_day_faults(day, today)):
            raise RefusedInput(f"watering of {lawn_key}", faults)
        add_watering(connection, Watering(lawn_key, day, depth_mm, now))


def _depth_faults(depth_mm: float) -> tuple[Fault, ...]:
    if is_number(depth_mm, 0.0, MOST_MM) and depth_mm > 0:
        return ()
    return (Fault("depth", f"{depth_mm:g} mm", f"give a depth above 0 and at most {MOST_MM:g} mm"),)


def _day_faults(day: date, today: date) -> tuple[Fault, ...]:
    if today - timedelta(days=OLDEST_DAYS) <= day <= today:
        return ()
    return (Fault("day", day.isoformat(), f"give a day from {OLDEST_DAYS} days ago to today, {today}"),)
