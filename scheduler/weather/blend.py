"""One record for a site from several stations about it.

Not a mean of stations: the nearest answers, and on a day that it did not measure the next one stands in,
temperatures of one day always from one station. Inverse-distance weights would fit a single day a little
better, but the set of stations that report changes from day to day, and with it every weight, unseen; a
mean of stations narrows the day's range, which the soil estimate reads as cloud; and it spreads a
shower at one gauge into drizzle everywhere. Here a change of station is one whole day, and its source
says so.

A station at another height is brought to the site's by the standard atmosphere's lapse. It is not fitted
to the overlap with the nearest one: the fit would depend on which days were asked for, and stored days
would move from night to night. Rain is never carried over: it comes from one gauge, the nearest that
recorded any in the span, and a day without its word stays without rain.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date

from models.agronomy.distance import great_circle_km
from models.facts.place import Position, Site
from models.facts.weather import Provenance, WeatherDay

# ISO 2533:1975 (standard atmosphere, as ICAO Doc 7488): -6.5 K a kilometre from the sea to 11 km.
LAPSE_C_PER_M = 0.0065

# A true lapse lies between 3 and 9 K a kilometre on most days (from memory): past this height the
# correction could be wrong by 1 °C, as much as the soil estimate itself (engineering choice).
TOO_FAR_IN_HEIGHT_M = 300.0

# A hundred metres of height weigh as much as ten kilometres of distance (engineering choice).
KM_PER_M_OF_HEIGHT = 0.1

ORDER = (Provenance.MEASURED, Provenance.MODELLED, Provenance.FORECAST)


@dataclass(frozen=True, slots=True)
class StationDays:
    """What one station gave; `elevation_m` None: unknown. Its days name no source yet."""

    key: str
    position: Position
    elevation_m: float | None
    days: tuple[WeatherDay, ...]


def height_difference_m(station_m: float | None, site_m: float) -> float:
    """How much higher the station is; 0 where a height is unknown. A site at exactly 0 m has none given."""
    return 0.0 if station_m is None or site_m == 0 else station_m - site_m


def nearness_km(km: float, higher_m: float) -> float:
    """Distance with height counted in, by which stations are ranked."""
    return km + KM_PER_M_OF_HEIGHT * abs(higher_m)


def blend(name: str, site: Site, stations: Sequence[StationDays]) -> tuple[WeatherDay, ...]:
    """The site's days, each with a source that names its station, how far it is and whom it stands in for.

    `stations` come in the order in which they are trusted. Measured days come from any of them, modelled
    and forecast ones from the first alone.
    """
    days = [*_measured(name, site, stations)]
    if stations:
        lead = stations[0]
        source = f"{name} {_place(site, lead)}"
        others = (day for day in lead.days if day.provenance is not Provenance.MEASURED)
        days += [replace(_at_height(site, lead, day), source=source) for day in others]
    return tuple(sorted(days, key=lambda one: (one.day, ORDER.index(one.provenance))))


def _measured(name: str, site: Site, stations: Sequence[StationDays]) -> Iterator[WeatherDay]:
    by_station = [(station, _measured_by_day(station)) for station in stations]
    gauge = next((one for one, days in by_station if any(d.rain_mm is not None for d in days.values())), None)
    for day in sorted({day for _, days in by_station for day in days}):
        answering = [(station, days[day]) for station, days in by_station if day in days]
        station, its = next((one for one in answering if one[1].has_temperature), answering[0])
        rain_mm = next((given.rain_mm for one, given in answering if one is gauge), None)
        source = _source(name, site, stations[0], station, gauge if rain_mm is not None else None)
        yield replace(_at_height(site, station, its), rain_mm=rain_mm, source=source)


def _measured_by_day(station: StationDays) -> dict[date, WeatherDay]:
    return {day.day: day for day in station.days if day.provenance is Provenance.MEASURED}


def _at_height(site: Site, station: StationDays, day: WeatherDay) -> WeatherDay:
    warmer_c = LAPSE_C_PER_M * height_difference_m(station.elevation_m, site.elevation_m)
    return replace(
        day,
        temperature_min_c=_warmer(day.temperature_min_c, warmer_c),
        temperature_max_c=_warmer(day.temperature_max_c, warmer_c),
    )


def _warmer(value_c: float | None, by_c: float) -> float | None:
    return None if value_c is None else round(value_c + by_c, 2)


def _source(name: str, site: Site, lead: StationDays, station: StationDays, gauge: StationDays | None) -> str:
    stands_in = "" if station is lead else f" in place of {lead.key}"
    rain = "" if gauge is None or gauge is station else f"; rain from {_place(site, gauge)}"
    return f"{name} {_place(site, station)}{stands_in}{rain}"


def _place(site: Site, station: StationDays) -> str:
    km = great_circle_km(site.position, station.position)
    higher_m = round(height_difference_m(station.elevation_m, site.elevation_m))
    height = f", {abs(higher_m)} m {'higher' if higher_m > 0 else 'lower'}" if higher_m else ""
    return f"{station.key} ({km:.0f} km away{height})"
