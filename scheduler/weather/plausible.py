"""Whether what a source says can be true: value by value, and beside what it said before."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from datetime import date
from statistics import median
from typing import Any

from models.facts.weather import KnownWeatherDay, Provenance, WeatherDay
from scheduler.weather.station_file import RANGES

VALUES = tuple(name for name in RANGES if name in WeatherDay.__dataclass_fields__)

# Days told anew move by tenths when they are corrected. All of them by this much is another unit or
# another place: Fahrenheit lies 10 °C or more above Celsius wherever that is above -27 (engineering choice).
MOVED_C = 8.0
ENOUGH_DAYS = 5


def sort_out(days: Iterable[WeatherDay], yesterday: date) -> tuple[tuple[WeatherDay, ...], tuple[str, ...]]:
    """The days to keep, and a sentence for whatever had to be left out.

    A value outside its physical range is left out alone; a day whose minimum is above its maximum whole.
    A day that is not over has no whole measurement yet, whatever its source says.
    """
    kept: list[WeatherDay] = []
    swapped: list[str] = []
    impossible: dict[str, list[str]] = defaultdict(list)
    for day in days:
        for name in _impossible(day):
            impossible[name].append(f"{getattr(day, name):g} on {day.day}")
        possible = _without(day, _impossible(day))
        least_c, most_c = possible.temperature_min_c, possible.temperature_max_c
        if least_c is not None and most_c is not None and least_c > most_c:
            swapped.append(f"{day.day} left out: minimum {least_c} °C above maximum {most_c} °C")
        elif day.day <= yesterday or day.provenance is Provenance.FORECAST:
            kept.append(possible)
    return tuple(kept), (*swapped, *_sentences(impossible))


def _without(day: WeatherDay, names: Sequence[str]) -> WeatherDay:
    gone: dict[str, Any] = dict.fromkeys(names)
    return replace(day, **gone) if gone else day


def _impossible(day: WeatherDay) -> list[str]:
    values = ((name, getattr(day, name)) for name in VALUES)
    return [
        name
        for name, value in values
        if value is not None and not RANGES[name][0] <= value <= RANGES[name][1]
    ]


def _sentences(impossible: dict[str, list[str]]) -> Iterator[str]:
    for name, values in sorted(impossible.items()):
        least, most = RANGES[name]
        also = f" and {len(values) - 1} more" if len(values) > 1 else ""
        yield f"{name} left out where it is outside {least:g} to {most:g}: {values[0]}{also}; check its unit"


def moved_c(days: Sequence[WeatherDay], before: Iterable[KnownWeatherDay]) -> float | None:
    """By how much measured temperatures that were known already have moved together, °C (median).

    None where that is no more than corrections do, or where too few days can be compared.
    """
    told = {one.weather.day: one.weather for one in before if _is_measured(one.weather)}
    moves = [_mean_c(day) - _mean_c(told[day.day]) for day in days if _is_measured(day) and day.day in told]
    if len(moves) < ENOUGH_DAYS or abs(median(moves)) <= MOVED_C:
        return None
    return median(moves)


def _is_measured(day: WeatherDay) -> bool:
    return day.provenance is Provenance.MEASURED and day.has_temperature


def _mean_c(day: WeatherDay) -> float:
    return ((day.temperature_min_c or 0.0) + (day.temperature_max_c or 0.0)) / 2
