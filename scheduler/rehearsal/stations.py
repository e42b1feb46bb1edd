"""Which stations a rehearsal stands on."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import date

from models.agronomy.distance import great_circle_km
from models.errors import Fault, NotFound, RefusedInput
from models.facts.place import Site
from scheduler.weather.station_file import StationListing

LAWNS_A_STATION = 15


def choose_stations(
    listed: Sequence[StationListing], first: date, last: date, lawns: int
) -> tuple[StationListing, ...]:
    """One station for each 15 lawns: the closest group of stations whose files cover the days.

    In order of the listing; all that cover where there are fewer; RefusedInput where none does.
    """
    covering = [station for station in listed if station.first <= first and station.last >= last]
    if not covering:
        fault = Fault("days", f"{first} to {last}", "no station's file covers them: choose days inside one")
        raise RefusedInput("stations.csv", [fault])
    wanted = math.ceil(lawns / LAWNS_A_STATION)
    groups = [_nearest_to(centre, covering)[:wanted] for centre in covering]
    closest = min(groups, key=lambda group: sum(_apart(group[0], station) for station in group))
    return tuple(station for station in covering if station in closest)


def named_stations(
    listed: Sequence[StationListing], names: Sequence[str], first: date, last: date
) -> tuple[StationListing, ...]:
    """The stations of these file stems, in the order named, each covering the days."""
    by_name = {station.file: station for station in listed}
    for name in names:
        if name not in by_name:
            raise NotFound("station", name, f"stations.csv lists {', '.join(by_name)}")
    faults = [
        Fault(
            name,
            f"{by_name[name].first} to {by_name[name].last}",
            f"rehearse days inside, not {first} to {last}",
        )
        for name in names
        if by_name[name].first > first or by_name[name].last < last
    ]
    if faults:
        raise RefusedInput("--stations", faults)
    return tuple(by_name[name] for name in names)


def site_of(station: StationListing) -> Site:
    return Site(
        key=station.file,
        name=station.name,
        position=station.position,
        elevation_m=station.elevation_m,
        source="station-file",
        source_ref=station.file,
    )


def _nearest_to(centre: StationListing, stations: Sequence[StationListing]) -> list[StationListing]:
    return sorted(stations, key=lambda station: _apart(centre, station))


def _apart(one: StationListing, other: StationListing) -> float:
    return great_circle_km(one.position, other.position)
