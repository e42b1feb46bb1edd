"""The only place that reads the clock, and the passage between instants and local days.

An instant is an aware UTC datetime; a day is a local date of a named zone; they never mix.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo


def now_utc() -> datetime:
    """The present instant, in UTC."""
    return datetime.now(UTC)


def require_utc(instant: datetime) -> datetime:
    """The same instant in UTC; a naive one is refused with ValueError."""
    if instant.tzinfo is None:
        raise ValueError(f"instant {instant.isoformat()} has no time zone: pass an aware datetime")
    return instant.astimezone(UTC)


def local_day(instant: datetime, time_zone: str) -> date:
    """The calendar day that `instant` falls on in `time_zone` (IANA name)."""
    return require_utc(instant).astimezone(ZoneInfo(time_zone)).date()


def instant_at(day: date, at: time, time_zone: str) -> datetime:
    """The UTC instant of local wall-clock `at` on `day`.

    A wall-clock time that a change-over skips or repeats takes its first meaning (PEP 495, fold 0).
    """
    return datetime.combine(day, at, ZoneInfo(time_zone)).astimezone(UTC)


def shifted(offset: timedelta) -> Callable[[], datetime]:
    """A clock that runs `offset` away from the present: a replay goes on with it from where it ended."""
    return lambda: now_utc() + offset


FIRST_POST = time(7, 0)  # engineering choice: nobody is written to in the night


def first_post(now: datetime, time_zone: str) -> datetime:
    """When a message caused at `now` may go out: 07:00 local of that day, or `now` where that is past."""
    return max(now, instant_at(local_day(now, time_zone), FIRST_POST, time_zone))
