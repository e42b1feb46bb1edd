"""On which days of the calendar an estimate opens the window as the measurement does. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta

from models.agronomy.judging import LIMIT_C, days_between, trailing_mean_c

# Common practice: the days on which a treatment is thought of at all.
SPRING_CALENDAR = ((4, 15), (5, 15))
AUTUMN_CALENDAR = ((9, 1), (10, 31))

Means = Mapping[date, float]


@dataclass(frozen=True, slots=True)
class WindowDays:
    """Calendar days by what estimate and measurement say; `unjudged` days miss one of the seven before."""

    right_open: int = 0
    right_shut: int = 0
    wrong_open: int = 0
    wrong_shut: int = 0
    unjudged: int = 0

    @property
    def days(self) -> int:
        """Judged days."""
        return self.right_open + self.right_shut + self.wrong_open + self.wrong_shut

    def share(self, counted: int) -> float | None:
        """That many of the judged days, 0 to 1; None where none is judged."""
        return counted / self.days if self.days else None


def window_days(
    estimated: Means, measured: Means, calendar: Iterable[date], limit_c: float = LIMIT_C
) -> WindowDays:
    """Counts over calendar days. A day is open where the seven whole days before it have the limit's mean."""
    verdicts = [
        (trailing_mean_c(estimated, day), trailing_mean_c(measured, day))
        for day in (day - timedelta(days=1) for day in calendar)
    ]
    known = [(by_estimate >= limit_c, truly >= limit_c) for by_estimate, truly in _judged(verdicts)]
    return WindowDays(
        right_open=known.count((True, True)),
        right_shut=known.count((False, False)),
        wrong_open=known.count((True, False)),
        wrong_shut=known.count((False, True)),
        unjudged=len(verdicts) - len(known),
    )


def _judged(verdicts: Iterable[tuple[float | None, float | None]]) -> list[tuple[float, float]]:
    return [
        (by_estimate, truly)
        for by_estimate, truly in verdicts
        if by_estimate is not None and truly is not None
    ]


def calendar_days(years: Iterable[int], calendar: tuple[tuple[int, int], tuple[int, int]]) -> list[date]:
    """The days of that calendar in those years."""
    first, last = calendar
    return [day for year in years for day in days_between(date(year, *first), date(year, *last))]


def together(parts: Iterable[WindowDays]) -> WindowDays:
    """Counts over all stations and seasons."""
    parts = list(parts)
    return WindowDays(
        right_open=sum(part.right_open for part in parts),
        right_shut=sum(part.right_shut for part in parts),
        wrong_open=sum(part.wrong_open for part in parts),
        wrong_shut=sum(part.wrong_shut for part in parts),
        unjudged=sum(part.unjudged for part in parts),
    )
