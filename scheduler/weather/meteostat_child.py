"""The process in which the meteostat library runs, so that it can be ended: JSON in, JSON out.

Its downloads have no time limit of their own, it is not thread-safe, and it fails with bare exceptions;
here all of that ends with the process. Run as `python -m scheduler.weather.meteostat_child`.
"""

from __future__ import annotations

import json
import logging
import socket
import sys
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from models.facts.weather import Provenance
from models.units import ms_from_kmh

if TYPE_CHECKING:
    from meteostat import Station

STATION_LIST = "stations.db"
NEAR_M = 50_000
STATIONS_TRIED = 4  # the nearest one may have stopped recording (engineering choice)
MINUTES_PER_HOUR = 60


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
    """What the parent asks. Days and the instant in ISO form; no endpoint: the library's own."""

    station: str  # empty: the nearest that has data
    latitude: float
    longitude: float
    first: str
    last: str
    now: str
    cache_directory: str
    wait_s: float
    station_list_endpoint: str = ""
    daily_endpoint: str = ""


class Troubles(logging.Handler):
    """Files that could not be loaded: the library only logs them and leaves their days out.

    A file that is not there (404) is no trouble: the station has no such year.
    """

    MODULES = ("shared", "data")

    def __init__(self) -> None:
        super().__init__(logging.WARNING)
        self.heard: list[str] = []

    def emit(self, record: logging.LogRecord) -> None:
        if record.module in self.MODULES:
            cause = record.exc_info[1] if record.exc_info else ""
            self.heard.append(f"{record.getMessage()} ({cause})")


def main() -> None:
    json.dump(answer(Asked(**json.load(sys.stdin))), sys.stdout)


def answer(asked: Asked) -> dict[str, Any]:
    """`{"station", "attribution", "days"}` of the first station with data; `{"unavailable"}` without one.

    All of its days or none: a year that failed to load would not be asked for again.
    """
    troubles = Troubles()
    logging.getLogger("meteostat").addHandler(troubles)
    _configure(asked)
    tried: list[str] = []
    for station in _stations(asked):
        tried.append(station.id)
        found = _fetch(asked, station)
        if troubles.heard:
            return {"unavailable": troubles.heard[0]}
        if found["days"]:
            return found
    if not tried:
        return {"unavailable": f"no station {asked.station or f'within {NEAR_M // 1000} km'}"}
    return {"unavailable": f"no data from station {', '.join(tried)}"}


def _fetch(asked: Asked, station: Station) -> dict[str, Any]:
    from meteostat import daily

    found = daily(station, date.fromisoformat(asked.first), date.fromisoformat(asked.last))
    frame = found.fetch(sources=True)
    rows = [] if frame is None else frame.iterrows()
    today = _today(asked, station)
    days = [day for moment, row in rows for day in _days(moment, row, today)]
    return {"station": station.id, "attribution": found.attribution, "days": days}


def _configure(asked: Asked) -> None:
    """Before the first fetch: the library's modules copy the endpoints when they are first used."""
    from meteostat import config

    socket.setdefaulttimeout(asked.wait_s)
    config.network_timeout = max(1, round(asked.wait_s))
    config.network_max_retries = 0  # the next run asks again
    # Days are kept in our own table; the library's cache serves old files and overwrites good with empty.
    config.cache_enable = False
    config.cache_directory = asked.cache_directory
    config.stations_db_file = str(Path(asked.cache_directory) / STATION_LIST)
    if asked.station_list_endpoint:
        config.stations_db_endpoints = [asked.station_list_endpoint]
    if asked.daily_endpoint:
        config.daily_endpoint = asked.daily_endpoint


def _stations(asked: Asked) -> Iterator[Station]:
    from meteostat import Point, stations

    if asked.station:
        keys = [asked.station]
    else:
        near = stations.nearby(Point(asked.latitude, asked.longitude), radius=NEAR_M, limit=STATIONS_TRIED)
        keys = [str(key) for key in near.index]
    yield from (station for key in keys if (station := stations.meta(key)) is not None)


def _today(asked: Asked, station: Station) -> date:
    return datetime.fromisoformat(asked.now).astimezone(ZoneInfo(station.timezone or "UTC")).date()


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
    import pandas as pd

    column, converted = VALUES[name]
    written = row.get(column)
    return None if pd.isna(written) else converted(float(str(written)))


def _is_measured(row: Mapping[str, Any], name: str) -> bool:
    """Whether every provider that a value was made from records or observes."""
    from meteostat.core.providers import provider_service
    from meteostat.enumerations import Grade

    providers = [provider_service.get_provider(key) for key in str(row[f"{VALUES[name][0]}_source"]).split()]
    return all(one is not None and one.grade in (Grade.RECORD, Grade.OBSERVATION) for one in providers)


if __name__ == "__main__":
    main()
