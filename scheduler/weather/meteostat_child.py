"""The process in which the meteostat library runs, so that it can be ended: JSON in, JSON out.

Its downloads have no time limit of their own, it is not thread-safe, and it fails with bare exceptions;
here all of that ends with the process. Run as `python -m scheduler.weather.meteostat_child`.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from models.facts.weather import Provenance
from models.units import ms_from_kmh
from scheduler.weather.blend import TOO_FAR_IN_HEIGHT_M, height_difference_m, nearness_km
from scheduler.weather.meteostat_library import STATION_LIST, configure, credits_of, listen
from scheduler.weather.station_list import renew

if TYPE_CHECKING:
    from meteostat import Station

NEAR_M = 50_000
STATIONS_LISTED = 20  # of the nearest by distance; height is weighed among these
STATIONS_TRIED = 4  # the nearest one may have stopped recording (engineering choice)
YEARS_AT_ONCE = 20  # the library refuses more than 30
MINUTES_PER_HOUR = 60
ONE_DAY = timedelta(days=1)

Days = list[dict[str, Any]]


def hours_from_minutes(minutes: float) -> float:
    return minutes / MINUTES_PER_HOUR


# Our name, the library's, and the library's unit to ours.
VALUES: Mapping[str, tuple[str, Callable[[float], float]]] = {
    "temperature_min_c": ("tmin", float),
    "temperature_max_c": ("tmax", float),
    "rain_mm": ("prcp", float),
    "wind_m_s": ("wspd", ms_from_kmh),
    "sun_h": ("tsun", hours_from_minutes),
}
NEEDED = ("temperature_min_c", "temperature_max_c", "rain_mm")


@dataclass(frozen=True, slots=True)
class Asked:
    """What the parent asks. Days and the instant in ISO form; no endpoint: the library's own.

    `station`: ids in the order in which they are trusted; empty: the nearest that have data.
    """

    station: str
    latitude: float
    longitude: float
    elevation_m: float
    first: str
    last: str
    now: str
    cache_directory: str
    wait_s: float
    station_list_endpoint: str = ""
    daily_endpoint: str = ""


def main() -> None:
    json.dump(answer(Asked(**json.load(sys.stdin))), sys.stdout)


def answer(asked: Asked) -> dict[str, Any]:
    """`{"stations", "credits", "said"}`; `{"unavailable"}` without any data.

    A further station is asked only for days that those before it have not measured. What fails to load
    from the first fails the whole: a year left out would not be asked for again.
    """
    troubles = listen()
    cache = Path(asked.cache_directory)
    configure(cache, asked.wait_s)
    _point_at(asked)
    if not renew(cache / STATION_LIST, datetime.fromisoformat(asked.now)):
        return {"unavailable": "the list of stations could not be loaded"}
    found: list[dict[str, Any]] = []
    said: list[str] = []
    tried: list[str] = []
    credits: Days = []
    for station in _stations(asked):
        lacking = _lacking(asked, station, found)
        if not lacking:
            break
        tried.append(station.id)
        days, of_station = _fetch(station, min(lacking), max(lacking), asked.now)
        if troubles.heard and not found:
            return {"unavailable": troubles.heard[0]}
        if troubles.heard:
            said.append(f"station {station.id} could not stand in: {troubles.heard[0]}")
            break
        if days:
            found.append(_described(station, days))
            credits += [credit for credit in of_station if credit not in credits]
    if not found:
        return {"unavailable": _nothing_from(asked, tried)}
    return {"stations": found, "credits": credits, "said": said}


def _point_at(asked: Asked) -> None:
    from meteostat import config

    if asked.station_list_endpoint:
        config.stations_db_endpoints = [asked.station_list_endpoint]
    if asked.daily_endpoint:
        config.daily_endpoint = asked.daily_endpoint


def _nothing_from(asked: Asked, tried: list[str]) -> str:
    if tried:
        return f"no data from station {', '.join(tried)}"
    return f"no station {asked.station or f'within {NEAR_M // 1000} km'}"


def _described(station: Station, days: Days) -> dict[str, Any]:
    return {
        "key": station.id,
        "latitude": station.latitude,
        "longitude": station.longitude,
        "elevation_m": _number(station.elevation),
        "days": days,
    }


def _stations(asked: Asked) -> Iterator[Station]:
    from meteostat import Point, stations

    keys: Iterable[str] = asked.station.split()
    if not asked.station:
        here = Point(asked.latitude, asked.longitude)
        near = stations.nearby(here, radius=NEAR_M, limit=STATIONS_LISTED)
        keys = list(_by_nearness(asked, near))[:STATIONS_TRIED]
    yield from (station for key in keys if (station := stations.meta(key)) is not None)


def _by_nearness(asked: Asked, near: Any) -> Iterator[str]:
    """Keys of the stations at a like height, the nearest first, height counted in."""
    ranked = []
    for key, row in near.iterrows():
        higher_m = height_difference_m(_number(row["elevation"]), asked.elevation_m)
        if abs(higher_m) <= TOO_FAR_IN_HEIGHT_M:
            ranked.append((nearness_km(row["distance"] / 1000, higher_m), str(key)))
    return (key for _, key in sorted(ranked))


def _lacking(asked: Asked, station: Station, found: list[dict[str, Any]]) -> list[date]:
    """Days whose temperatures nobody has measured so far; all of them as long as nobody measured any rain."""
    first, last = date.fromisoformat(asked.first), date.fromisoformat(asked.last)
    measured: set[str] = set()
    if found:
        last = min(last, _today(asked.now, station) - ONE_DAY)
        days = [day for one in found for day in one["days"] if day["provenance"] == Provenance.MEASURED]
        if any(day["rain_mm"] is not None for day in days):
            measured = {day["day"] for day in days if _has_temperatures(day)}
    asked_for = (first + n * ONE_DAY for n in range((last - first).days + 1))
    return [day for day in asked_for if day.isoformat() not in measured]


def _has_temperatures(day: Mapping[str, Any]) -> bool:
    return None not in (day["temperature_min_c"], day["temperature_max_c"])


def _fetch(station: Station, first: date, last: date, now: str) -> tuple[Days, Days]:
    """The station's days, and whom they come from."""
    from meteostat import daily

    days: Days = []
    providers: set[str] = set()
    for begin, end in _spans(first, last):
        found = daily(station, begin, end)
        # Uncleaned: the library drops what cannot be true without a word.
        frame = found.fetch(sources=True, clean=False)
        providers.update(map(str, found.providers))
        rows = [] if frame is None else frame.iterrows()
        today = _today(now, station)
        days += [day for moment, row in rows for day in _days(moment, row, today)]
    return days, credits_of(providers)


def _spans(first: date, last: date) -> Iterator[tuple[date, date]]:
    for year in range(first.year, last.year + 1, YEARS_AT_ONCE):
        end_of_span = date(year + YEARS_AT_ONCE - 1, 12, 31)
        yield max(first, date(year, 1, 1)), min(last, end_of_span)


def _today(now: str, station: Station) -> date:
    return datetime.fromisoformat(now).astimezone(ZoneInfo(station.timezone or "UTC")).date()


def _days(moment: Any, row: Mapping[str, Any], today: date) -> Iterator[dict[str, Any]]:
    """The measured day, and beside it the whole day where some of its values come from a model."""
    day = moment.date()
    values = {name: _value(row, name) for name in VALUES}
    modelled = {name for name, value in values.items() if value is not None and not _is_measured(row, name)}
    measured = {name: None if name in modelled else value for name, value in values.items()}
    if any(measured[name] is not None for name in NEEDED):
        yield {"day": day.isoformat(), "provenance": Provenance.MEASURED, **measured}
    if modelled.intersection(NEEDED):
        provenance = Provenance.MODELLED if day < today else Provenance.FORECAST
        yield {"day": day.isoformat(), "provenance": provenance, **values}


def _value(row: Mapping[str, Any], name: str) -> float | None:
    column, converted = VALUES[name]
    value = _number(row.get(column))
    return None if value is None else converted(value)


def _number(written: Any) -> float | None:
    import pandas as pd

    return None if pd.isna(written) else float(str(written))


def _is_measured(row: Mapping[str, Any], name: str) -> bool:
    return _all_observe(str(row[f"{VALUES[name][0]}_source"]))


@lru_cache(maxsize=1000)
def _all_observe(providers: str) -> bool:
    """Whether every provider that a value was made from records or observes."""
    from meteostat.core.providers import provider_service
    from meteostat.enumerations import Grade

    known = [provider_service.get_provider(key) for key in providers.split()]
    return all(one is not None and one.grade in (Grade.RECORD, Grade.OBSERVATION) for one in known)


if __name__ == "__main__":
    main()
