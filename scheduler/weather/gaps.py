"""Closing the gaps of a weather record, with every filled value marked.

Short gaps are closed linearly between their neighbours. In longer ones the neighbours' departure from
normal fades with the days between (engineering choice: see `FADES_IN_DAYS`), where normal is the mean of
the same time of year in earlier years. Missing rain is taken as none.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from itertools import pairwise
from math import exp

from models.facts.weather import KnownWeatherDay, Provenance, UsedWeatherDay, WeatherDay

SHORT_GAP_DAYS = 3
NORMAL_HALF_WIDTH_DAYS = 7

# A departure of daily air temperature from normal keeps about 0.7 of itself a day (from memory).
FADES_IN_DAYS = 3.0

ONE_DAY = timedelta(days=1)
Series = Mapping[date, float]


@dataclass(frozen=True, slots=True)
class Gap:
    """Missing days from `first` to `last` between two days that have the value (None: an open end)."""

    before: date | None
    after: date | None
    first: date
    last: date

    @property
    def days(self) -> int:
        return (self.last - self.first).days + 1


@dataclass(frozen=True, slots=True)
class Fill:
    value: float
    gap_days: int


def as_known(days: Sequence[WeatherDay], known_at: datetime) -> tuple[KnownWeatherDay, ...]:
    """Days of a file that is judged without a store: each the first word on its day."""
    return tuple(KnownWeatherDay(day, revision=1, known_at=known_at) for day in days)


def complete(
    days: Sequence[KnownWeatherDay], first: date, last: date, rainless_before: int = 0
) -> tuple[UsedWeatherDay, ...]:
    """Every day from `first` to `last` once and in order, °C and mm.

    `days` hold at most one record a day; those outside the span serve as neighbours and as earlier years.
    A gap is closed from what lies before it and its one later neighbour, so that a closed gap is filled
    the same however long the record grows. `rainless_before`: for how many days up to the one before
    `first` no rain was recorded. Empty where no minimum or no maximum was ever recorded.
    """
    known = {one.weather.day: one for one in sorted(days, key=lambda one: one.weather.day)}
    least = _series(known, "temperature_min_c")
    most = _series(known, "temperature_max_c")
    if not least or not most:
        return ()
    fills = {
        "temperature_min_c": _temperature_fills(least, first, last),
        "temperature_max_c": _temperature_fills(most, first, last),
        "rain_mm": _rain_fills(_series(known, "rain_mm"), first, last, rainless_before),
    }
    return tuple(_used(day, known.get(day), fills) for day in _days(first, last))


def _series(known: Mapping[date, KnownWeatherDay], name: str) -> dict[date, float]:
    values = ((day, getattr(one.weather, name)) for day, one in known.items())
    return {day: value for day, value in values if value is not None}


def _days(first: date, last: date) -> Iterator[date]:
    return (first + timedelta(days=n) for n in range((last - first).days + 1))


def _gaps(series: Series, first: date, last: date) -> Iterator[Gap]:
    """The gaps that reach into the span, in whole: a closed one may begin before or end after it."""
    for before, after in pairwise([None, *series, None]):
        begins = first if before is None else before + ONE_DAY
        ends = last if after is None else after - ONE_DAY
        if begins <= ends and begins <= last and ends >= first:
            yield Gap(before, after, begins, ends)


def _rain_fills(series: Series, first: date, last: date, rainless_before: int) -> dict[date, Fill]:
    """No rain, and for how many days none was recorded so far: no later neighbour has a say in it."""
    return {
        day: Fill(0.0, (day - gap.first).days + 1 + (0 if gap.before else rainless_before))
        for gap in _gaps(series, first, last)
        for day in _days(gap.first, gap.last)
    }


def _temperature_fills(series: Series, first: date, last: date) -> dict[date, Fill]:
    return {
        day: Fill(_temperature_c(series, gap, day), gap.days)
        for gap in _gaps(series, first, last)
        for day in _days(gap.first, gap.last)
    }


def _temperature_c(series: Series, gap: Gap, day: date) -> float:
    normal_c = _normal_c(series, day) if gap.days > SHORT_GAP_DAYS else None
    if normal_c is None:
        return _between_c(series, gap, day)
    return normal_c + sum(_departure_c(series, edge, day) for edge in (gap.before, gap.after) if edge)


def _between_c(series: Series, gap: Gap, day: date) -> float:
    """On the line from neighbour to neighbour; at an open end the only neighbour's value."""
    if gap.before is None or gap.after is None:
        return series[gap.before or gap.after or day]
    share = (day - gap.before) / (gap.after - gap.before)
    return series[gap.before] + share * (series[gap.after] - series[gap.before])


def _departure_c(series: Series, edge: date, day: date) -> float:
    """What is left on `day` of the departure from normal at a neighbour."""
    normal_c = _normal_c(series, edge)
    left = exp(-abs((day - edge).days) / FADES_IN_DAYS)
    return 0.0 if normal_c is None else left * (series[edge] - normal_c)


def _normal_c(series: Series, day: date) -> float | None:
    """Mean about the same day of earlier years; None where no such day is known."""
    earliest = next(iter(series)).year
    around = range(-NORMAL_HALF_WIDTH_DAYS, NORMAL_HALF_WIDTH_DAYS + 1)
    same_days = (
        _in_year(day, year) + timedelta(days=n) for year in range(earliest, day.year) for n in around
    )
    values = [series[one] for one in same_days if one in series]
    return sum(values) / len(values) if values else None


def _in_year(day: date, year: int) -> date:
    return day.replace(year=year, day=28) if (day.month, day.day) == (2, 29) else day.replace(year=year)


def _used(day: date, one: KnownWeatherDay | None, fills: Mapping[str, Mapping[date, Fill]]) -> UsedWeatherDay:
    filled = tuple(name for name, by_day in fills.items() if day in by_day)
    least_c = _value(one, "temperature_min_c", fills, day)
    most_c = _value(one, "temperature_max_c", fills, day)
    if filled and least_c > most_c:
        # Each was filled from neighbours of its own; a recorded value is the one that stays.
        least_c, most_c = (most_c, most_c) if "temperature_min_c" in filled else (least_c, least_c)
    return UsedWeatherDay(
        day=day,
        temperature_min_c=least_c,
        temperature_max_c=most_c,
        rain_mm=_value(one, "rain_mm", fills, day),
        provenance=Provenance.MODELLED if one is None else one.weather.provenance,
        revision=0 if one is None else one.revision,
        gap_days=max((fills[name][day].gap_days for name in filled if name != "rain_mm"), default=0),
        filled=filled,
        rain_gap_days=fills["rain_mm"][day].gap_days if "rain_mm" in filled else 0,
        wind_m_s=None if one is None else one.weather.wind_m_s,
        sun_h=None if one is None else one.weather.sun_h,
    )


def _value(
    one: KnownWeatherDay | None, name: str, fills: Mapping[str, Mapping[date, Fill]], day: date
) -> float:
    fill = fills[name].get(day)
    value: float = getattr(one.weather, name) if fill is None and one is not None else fills[name][day].value
    return value
