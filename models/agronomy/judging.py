"""How wrong an estimate was: errors of temperature, and of the day a season opens. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from math import sqrt
from statistics import fmean, median, quantiles

from models.agronomy.soil import WARM_UP_DAYS

TRAILING_DAYS = 7
SPRING_MONTHS = (3, 4, 5)
AUTUMN_MONTHS = (9, 10, 11)
SEARCH_FROM = (3, 7)
SEARCH_TO = (6, 15)

# Exposure changed at some stations around 2010 to 2013; soil-records/README.md says to begin here.
SCORED_FROM = date(2013, 1, 1)


def rmse(errors: Sequence[float]) -> float | None:
    """Root of the mean square; None of nothing."""
    return sqrt(fmean(error * error for error in errors)) if errors else None


def bias(errors: Sequence[float]) -> float | None:
    """Mean error, estimate minus measurement; None of nothing."""
    return fmean(errors) if errors else None


def scored_days(first_of_record: date, measured_c: Mapping[date, float]) -> dict[date, float]:
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


def temperature_errors(estimated: Mapping[date, float], measured: Mapping[date, float]) -> TemperatureErrors:
    """Errors over the days that both have. Spring is March to May, autumn September to November."""
    errors = {day: estimated[day] - mean_c for day, mean_c in measured.items() if day in estimated}
    return TemperatureErrors(
        days=len(errors),
        rmse_c=rmse(list(errors.values())),
        bias_c=bias(list(errors.values())),
        rmse_spring_c=rmse([error for day, error in errors.items() if day.month in SPRING_MONTHS]),
        rmse_autumn_c=rmse([error for day, error in errors.items() if day.month in AUTUMN_MONTHS]),
    )


def soil_opening(means_c: Mapping[date, float], year: int, limit_c: float = 10.0) -> date | None:
    """The first day from 7 March to 15 June whose trailing 7-day mean is at or above `limit_c`.

    A day without seven complete days behind it does not open; None where no day does.
    """
    first, last = date(year, *SEARCH_FROM), date(year, *SEARCH_TO)
    for offset in range((last - first).days + 1):
        day = first + timedelta(days=offset)
        mean_c = _trailing_mean_c(means_c, day)
        if mean_c is not None and mean_c >= limit_c:
            return day
    return None


def spring_has_gap(means_c: Mapping[date, float], year: int) -> bool:
    """Whether a day that the search may look at is missing (1 March to 15 June)."""
    first = date(year, *SEARCH_FROM) - timedelta(days=TRAILING_DAYS - 1)
    return any(
        first + timedelta(days=n) not in means_c for n in range((date(year, *SEARCH_TO) - first).days + 1)
    )


def _trailing_mean_c(means_c: Mapping[date, float], day: date) -> float | None:
    week = [means_c.get(day - timedelta(days=back)) for back in range(TRAILING_DAYS)]
    values = [value for value in week if value is not None]
    return sum(values) / TRAILING_DAYS if len(values) == TRAILING_DAYS else None


@dataclass(frozen=True, slots=True)
class Spring:
    """One station-spring: the day it opened by estimate and by measurement, or why it is not judged."""

    year: int
    estimated: date | None
    measured: date | None
    gap: bool = False

    @property
    def error_days(self) -> int | None:
        """Estimated minus measured, + is late; None where a gap or a missing opening forbids it."""
        if self.gap or self.estimated is None or self.measured is None:
            return None
        return (self.estimated - self.measured).days


def judge_spring(
    estimated: Mapping[date, float], measured: Mapping[date, float], year: int, limit_c: float = 10.0
) -> Spring:
    """The two openings of one spring; a gap in either record is said, not bridged."""
    gap = spring_has_gap(measured, year) or spring_has_gap(estimated, year)
    return Spring(year, soil_opening(estimated, year, limit_c), soil_opening(measured, year, limit_c), gap)


@dataclass(frozen=True, slots=True)
class OpeningErrors:
    """Errors of the opening day over `seasons` springs; those left out are counted apart."""

    seasons: int
    mean_abs_days: float | None
    median_abs_days: float | None
    p90_abs_days: float | None
    bias_days: float | None
    within_3_days: float | None
    with_gaps: int
    without_opening: int


def opening_errors(springs: Iterable[Spring]) -> OpeningErrors:
    """Summary over springs. `within_3_days` is a share from 0 to 1; percentiles interpolate linearly."""
    springs = list(springs)
    errors = [spring.error_days for spring in springs if spring.error_days is not None]
    with_gaps = sum(spring.gap for spring in springs)
    without_opening = len(springs) - with_gaps - len(errors)
    if not errors:
        return OpeningErrors(0, None, None, None, None, None, with_gaps, without_opening)
    sizes = [float(abs(error)) for error in errors]
    return OpeningErrors(
        seasons=len(errors),
        mean_abs_days=fmean(sizes),
        median_abs_days=median(sizes),
        p90_abs_days=_nine_in_ten(sizes),
        bias_days=fmean(errors),
        within_3_days=fmean(size <= 3 for size in sizes),
        with_gaps=with_gaps,
        without_opening=without_opening,
    )


def _nine_in_ten(sizes: Sequence[float]) -> float:
    return quantiles(sizes, n=10, method="inclusive")[-1] if len(sizes) > 1 else sizes[0]
