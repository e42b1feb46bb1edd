"""The process in which the library asks MET Norway for a forecast: JSON in, JSON out.

Run as `python -m scheduler.weather.forecast_child`.
"""

from __future__ import annotations

import json
import sys
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from itertools import pairwise
from pathlib import Path
from typing import Any

from models.facts.weather import Provenance
from models.units import ms_from_kmh
from scheduler.weather.meteostat_library import configure, credits_of, listen

# After some 60 hours the steps are six hours long.
LONGEST_HOLE = timedelta(hours=6)
HOURS_OF_RAIN = 18  # fewer do not make a day's rain; today's forecast begins in the morning
DEGREES_PER_HOUR = 15
ALTITUDE = "&altitude={elevation}"
ONE_DAY = timedelta(days=1)

Step = tuple[datetime, Mapping[str, float | None]]


@dataclass(frozen=True, slots=True)
class ForecastAsked:
    """What the parent asks. Days in ISO form; no endpoint: the library's own."""

    latitude: float
    longitude: float
    elevation_m: float
    first: str
    last: str
    user_agent: str
    cache_directory: str
    wait_s: float
    endpoint: str = ""


def main() -> None:
    json.dump(answer(ForecastAsked(**json.load(sys.stdin))), sys.stdout)


def answer(asked: ForecastAsked) -> dict[str, Any]:
    """`{"days", "credits"}`; `{"unavailable"}` without any."""
    troubles = listen()
    configure(Path(asked.cache_directory), asked.wait_s)
    steps = _fetch(asked)
    if troubles.heard:
        return {"unavailable": troubles.heard[0]}
    days = list(_days(steps, asked))
    if not days:
        return {"unavailable": "no whole day in what was forecast"}
    return {"days": days, "credits": credits_of(["metno_forecast"])}


def _fetch(asked: ForecastAsked) -> list[Step]:
    """Hourly steps in the sun's time of the place, which lies within two hours of any legal one."""
    from meteostat import Point, Provider, config, hourly

    config.metno_user_agent = asked.user_agent
    endpoint = asked.endpoint or config.metno_forecast_endpoint
    # A site at exactly 0 m has no height given: the service then takes its own map's.
    config.metno_forecast_endpoint = endpoint if asked.elevation_m else endpoint.replace(ALTITUDE, "")
    # Four decimals are what the service's terms allow (api.met.no, terms of service; from memory).
    here = Point(round(asked.latitude, 4), round(asked.longitude, 4), round(asked.elevation_m))
    # No span: the library refuses one that lies before its own clock's today.
    frame = hourly(here, None, None, providers=[Provider.METNO_FORECAST]).fetch(clean=False)
    ahead = timedelta(hours=round(asked.longitude / DEGREES_PER_HOUR))
    rows = [] if frame is None else frame.iterrows()
    return [(moment.to_pydatetime() + ahead, _values(row)) for moment, row in rows]


def _values(row: Mapping[str, Any]) -> dict[str, float | None]:
    import pandas as pd

    return {name: None if pd.isna(row.get(name)) else float(row[name]) for name in ("temp", "prcp", "wspd")}


def _days(steps: Sequence[Step], asked: ForecastAsked) -> Iterator[dict[str, Any]]:
    by_day: dict[date, list[Step]] = defaultdict(list)
    for moment, values in steps:
        by_day[moment.date()].append((moment, values))
    first, last = date.fromisoformat(asked.first), date.fromisoformat(asked.last)
    for day, its in sorted(by_day.items()):
        if first <= day <= last and _is_covered(day, [moment for moment, _ in its]):
            yield _day(day, [values for _, values in its])


def _is_covered(day: date, moments: Sequence[datetime]) -> bool:
    """No hole from midnight to midnight is longer than one step."""
    midnight = datetime.combine(day, time())
    marks = [midnight, *moments, midnight + ONE_DAY]
    return all(b - a <= LONGEST_HOLE for a, b in pairwise(marks))


def _day(day: date, steps: Sequence[Mapping[str, float | None]]) -> dict[str, Any]:
    """Least and most of the steps: with six-hour ones the day's range comes out some degrees short.

    Rain is the sum over hours; the library has none for six-hour steps, and then the day has none.
    """
    temperatures = [one["temp"] for one in steps if one["temp"] is not None]
    rain = [one["prcp"] for one in steps]
    wind = [one["wspd"] for one in steps if one["wspd"] is not None]
    known_rain = [depth for depth in rain if depth is not None]
    return {
        "day": day.isoformat(),
        "provenance": Provenance.FORECAST,
        "temperature_min_c": min(temperatures, default=None),
        "temperature_max_c": max(temperatures, default=None),
        "rain_mm": round(sum(known_rain), 2) if len(known_rain) >= HOURS_OF_RAIN else None,
        "wind_m_s": round(ms_from_kmh(sum(wind) / len(wind)), 2) if wind else None,
    }


if __name__ == "__main__":
    main()
