"""From days and °C to the picture's units, and the marks on the two axes."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from math import ceil, floor

from models.facts.season import Span
from models.units import MONTHS

WIDTH = 4000
LEFT, RIGHT = 560, 3930  # of the days
LETTER = 82  # at the size of a phone, in the picture's units: the mean of a wide typeface
TICK_LETTER = 96  # "May" has wider ones than the mean
FEW_DAYS = 70  # shorter spans are marked by days, longer ones by months
MOST_LABELS = 9
DAY_STEPS = (1, 2, 7, 14)
MONTH_STEPS = (1, 2, 3, 6, 12, 24, 60, 120, 240, 600, 1200)
DEGREE_STEPS = (1, 2, 5, 10, 20, 50, 100, 200, 500)


@dataclass(frozen=True, slots=True)
class DayAxis:
    shown: Span

    @property
    def days(self) -> int:
        return (self.shown.last - self.shown.first).days + 1

    def start(self, day: date) -> int:
        """Where a day begins; the day after the last ends the axis."""
        return self._at((day - self.shown.first).days)

    def middle(self, day: date) -> int:
        return self._at((day - self.shown.first).days + 0.5)

    def end(self, day: date) -> int:
        return self._at((day - self.shown.first).days + 1)

    def _at(self, days: float) -> int:
        return LEFT + round(days * (RIGHT - LEFT) / self.days)


@dataclass(frozen=True, slots=True)
class DegreeAxis:
    """Whole steps of °C from `low` to `high`, between `bottom` and `top` (which is the smaller)."""

    low: int
    high: int
    step: int
    top: int
    bottom: int

    def y(self, degrees_c: float) -> int:
        share = (degrees_c - self.low) / (self.high - self.low)
        return self.bottom - round(share * (self.bottom - self.top))

    def ticks(self) -> range:
        return range(self.low, self.high + 1, self.step)


def degree_axis(values_c: Sequence[float], top: int, bottom: int) -> DegreeAxis:
    """The axis that holds all values (one or more) in at most six steps."""
    least, most = min(values_c), max(values_c)
    for step in DEGREE_STEPS:
        low, high = floor(least / step) * step, ceil(most / step) * step
        if high - low <= 6 * step:
            break
    return DegreeAxis(low, max(high, low + step), step, top, bottom)


@dataclass(frozen=True, slots=True)
class DayTick:
    """A mark on the days' axis; `year` is empty where the tick before says it."""

    day: date
    words: str
    year: str = ""


def day_ticks(axis: DayAxis) -> tuple[DayTick, ...]:
    """Months, days where few are shown, or years where many are; each label has its room."""
    few = axis.days <= FEW_DAYS
    ticks = _days(axis) if few else _months(axis)
    return tuple(_with_years(axis, [one for one in ticks if _has_room(axis, one.day, one.words)]))


def _days(axis: DayAxis) -> Iterator[DayTick]:
    step = next((one for one in DAY_STEPS if axis.days <= 6 * one), DAY_STEPS[-1])
    for day in axis.shown.days():
        if (day.toordinal() - 1) % step == 0:  # ordinal 1 is a Monday
            yield DayTick(day, f"{day.day} {MONTHS[day.month - 1][:3]}")


def _months(axis: DayAxis) -> Iterator[DayTick]:
    first, last = axis.shown.first, axis.shown.last
    months = range(first.year * 12 + first.month - (first.day == 1), last.year * 12 + last.month)
    step = next((one for one in MONTH_STEPS if len(months) <= MOST_LABELS * one), MONTH_STEPS[-1])
    for month in months:
        if month % step == 0:
            day = date(month // 12, month % 12 + 1, 1)
            yield DayTick(day, MONTHS[day.month - 1][:3] if step < 12 else str(day.year))


def _with_years(axis: DayAxis, ticks: Iterable[DayTick]) -> Iterator[DayTick]:
    """Years below the first tick and the first of each new year, where they do not run together."""
    said, free_from = 0, LEFT
    for tick in ticks:
        at, year = axis.start(tick.day), tick.day.year
        if tick.words == str(year) or year == said or at < free_from or not _has_room(axis, tick.day, "2000"):
            yield tick
            continue
        said, free_from = year, at + 5 * LETTER
        yield DayTick(tick.day, tick.words, str(year))


def _has_room(axis: DayAxis, day: date, words: str) -> bool:
    return axis.start(day) + len(words) * TICK_LETTER <= WIDTH
