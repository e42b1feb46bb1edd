"""How wrong an estimate was: errors of temperature, and of the days a season opens and closes. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from math import sqrt
from statistics import fmean, median, quantiles

WARM_UP_DAYS = 365
TRAILING_DAYS = 7
LIMIT_C = 10.0
SPRING_MONTHS = (3, 4, 5)
AUTUMN_MONTHS = (9, 10, 11)
SEARCH_FROM = (3, 7)
SEARCH_TO = (6, 15)
CLOSING_FROM = (9, 1)
CLOSING_TO = (11, 30)

# Exposure changed at some stations around 2010 to 2013; soil-records/README.md says to begin here.
SCORED_FROM = date(2013, 1, 1)

# Of a normal error, 80 % lie within so many standard deviations.
SD_OF_80 = 1.2816

Means = Mapping[date, float]


def rmse(errors: Sequence[float]) -> float | None:
    """Root of the mean square; None of nothing."""
    return sqrt(fmean(error * error for error in errors)) if errors else None


def bias(errors: Sequence[float]) -> float | None:
    """Mean error, estimate minus measurement; None of nothing."""
    return fmean(errors) if errors else None


def scored_days(first_of_record: date, measured_c: Means) -> dict[date, float]:
    """Measured days that count: from 2013, and at least 365 days into the record; the rest warms up."""
    first = max(SCORED_FROM, first_of_record + timedelta(days=WARM_UP_DAYS))
    return {day: mean_c for day, mean_c in measured_c.items() if day >= first}


@dataclass(frozen=True, slots=True)
class TemperatureErrors:
    """Errors of daily means over `days` days, °C; None where no day fell into the part."""

    days: int
    rmse_c: float | None
    bias_c: float | None
    rmse_spring_c: float | None
    rmse_autumn_c: float | None


def temperature_errors(estimated: Means, measured: Means) -> TemperatureErrors:
    """Errors over the days that both have. Spring is March to May, autumn September to November."""
    errors = errors_by_day(estimated, measured)
    return TemperatureErrors(
        days=len(errors),
        rmse_c=rmse(list(errors.values())),
        bias_c=bias(list(errors.values())),
        rmse_spring_c=rmse([error for day, error in errors.items() if day.month in SPRING_MONTHS]),
        rmse_autumn_c=rmse([error for day, error in errors.items() if day.month in AUTUMN_MONTHS]),
    )


def errors_by_day(estimated: Means, measured: Means) -> dict[date, float]:
    """Estimate minus measurement on the days that both have, °C."""
    return {day: estimated[day] - mean_c for day, mean_c in measured.items() if day in estimated}


def within_80(estimated: Means, sd_c: Means, measured: Means) -> tuple[int, int]:
    """How many measurements lie in the 80 % band of a normal error, and of how many."""
    within = [abs(error) <= SD_OF_80 * sd_c[day] for day, error in errors_by_day(estimated, measured).items()]
    return sum(within), len(within)


def soil_opening(means_c: Means, year: int, limit_c: float = LIMIT_C) -> date | None:
    """The first day from 7 March to 15 June whose trailing 7-day mean is at or above `limit_c`.

    A day without seven complete days behind it does not open; None where no day does.
    """
    for day, mean_c in _searched(means_c, year, SEARCH_FROM, SEARCH_TO):
        if mean_c >= limit_c:
            return day
    return None


def soil_closing(means_c: Means, year: int, limit_c: float = LIMIT_C) -> date | None:
    """The mirror of the opening: the first day from 1 September to 30 November whose mean is below `limit_c`.

    The mean is the trailing one of seven days. A day without seven complete days behind it does not
    close; None where no day does. As in spring the mean may cross the limit again afterwards.
    """
    for day, mean_c in _searched(means_c, year, CLOSING_FROM, CLOSING_TO):
        if mean_c < limit_c:
            return day
    return None


def spring_has_gap(means_c: Means, year: int) -> bool:
    """Whether a day that the search may look at is missing (1 March to 15 June)."""
    return _has_gap(means_c, year, SEARCH_FROM, SEARCH_TO)


def autumn_has_gap(means_c: Means, year: int) -> bool:
    """Whether a day that the search may look at is missing (26 August to 30 November)."""
    return _has_gap(means_c, year, CLOSING_FROM, CLOSING_TO)


def trailing_mean_c(means_c: Means, day: date) -> float | None:
    """Mean of that day and the six before it; None where one of them is missing."""
    week = [means_c.get(day - timedelta(days=back)) for back in range(TRAILING_DAYS)]
    values = [value for value in week if value is not None]
    return sum(values) / TRAILING_DAYS if len(values) == TRAILING_DAYS else None


def days_between(first: date, last: date) -> Iterator[date]:
    """Every day from the first to the last."""
    return (first + timedelta(days=n) for n in range((last - first).days + 1))


def _searched(
    means_c: Means, year: int, first: tuple[int, int], last: tuple[int, int]
) -> Iterator[tuple[date, float]]:
    for day in days_between(date(year, *first), date(year, *last)):
        mean_c = trailing_mean_c(means_c, day)
        if mean_c is not None:
            yield day, mean_c


def _has_gap(means_c: Means, year: int, first: tuple[int, int], last: tuple[int, int]) -> bool:
    earliest = date(year, *first) - timedelta(days=TRAILING_DAYS - 1)
    return any(day not in means_c for day in days_between(earliest, date(year, *last)))


@dataclass(frozen=True, slots=True)
class TurningDay:
    """The day one station's season opened or closed, by estimate and by measurement.

    `gap` says that a day is missing in either, and so that it is not judged.
    """

    year: int
    estimated: date | None
    measured: date | None
    gap: bool = False

    @property
    def error_days(self) -> int | None:
        """Estimated minus measured, + is late; None where a gap or a missing day forbids it."""
        if self.gap or self.estimated is None or self.measured is None:
            return None
        return (self.estimated - self.measured).days


def judge_spring(estimated: Means, measured: Means, year: int, limit_c: float = LIMIT_C) -> TurningDay:
    """The two openings of one spring; a gap in either record is said, not bridged."""
    gap = spring_has_gap(measured, year) or spring_has_gap(estimated, year)
    return TurningDay(
        year, soil_opening(estimated, year, limit_c), soil_opening(measured, year, limit_c), gap
    )


def judge_autumn(estimated: Means, measured: Means, year: int, limit_c: float = LIMIT_C) -> TurningDay:
    """The two closings of one autumn; a gap in either record is said, not bridged."""
    gap = autumn_has_gap(measured, year) or autumn_has_gap(estimated, year)
    return TurningDay(
        year, soil_closing(estimated, year, limit_c), soil_closing(measured, year, limit_c), gap
    )


@dataclass(frozen=True, slots=True)
class TurningErrors:
    """Errors of the opening or closing day over `seasons` seasons; those left out are counted apart."""

    seasons: int
    mean_abs_days: float | None
    median_abs_days: float | None
    p90_abs_days: float | None
    bias_days: float | None
    within_3_days: float | None
    with_gaps: int
    without_day: int


def turning_errors(turns: Iterable[TurningDay]) -> TurningErrors:
    """Summary over seasons. `within_3_days` is a share from 0 to 1; percentiles interpolate linearly."""
    turns = list(turns)
    errors = [turn.error_days for turn in turns if turn.error_days is not None]
    with_gaps = sum(turn.gap for turn in turns)
    without_day = len(turns) - with_gaps - len(errors)
    if not errors:
        return TurningErrors(0, None, None, None, None, None, with_gaps, without_day)
    sizes = [float(abs(error)) for error in errors]
    return TurningErrors(
        seasons=len(errors),
        mean_abs_days=fmean(sizes),
        median_abs_days=median(sizes),
        p90_abs_days=_nine_in_ten(sizes),
        bias_days=fmean(errors),
        within_3_days=fmean(size <= 3 for size in sizes),
        with_gaps=with_gaps,
        without_day=without_day,
    )


def _nine_in_ten(sizes: Sequence[float]) -> float:
    return quantiles(sizes, n=10, method="inclusive")[-1] if len(sizes) > 1 else sizes[0]
