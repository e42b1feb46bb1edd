"""One line of a client file: its cells to a client and a lawn, or all that is wrong with them. Pure."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass, field

from models.errors import Fault
from models.facts.place import Client, Lawn, Position, Texture, Zone
from scheduler.entries.join import LARGEST_LAWN_M2
from scheduler.entries.text import line_faults, time_zones

COLUMNS = (
    "client",
    "name",
    "email",
    "phone",
    "lawn",
    "lawn_name",
    "latitude",
    "longitude",
    "site",
    "texture",
    "zones",
    "tap_l_min",
    "notes",
    "time_zone",
)
MAY_BE_EMPTY = ("email", "phone", "tap_l_min", "notes", "time_zone")

KEY = re.compile(r"[a-z0-9][a-z0-9-]{0,59}")
NUMBER = re.compile(r"[+-]?\d{1,9}(\.\d{1,9})?")
WEAKEST_TAP, STRONGEST_TAP = 1.0, 100.0  # L/min; engineering choice: a garden tap gives 8 to 20


@dataclass(frozen=True, slots=True)
class Known:
    """What the cells of a file refer to, and what stands in for an empty time zone."""

    sites: frozenset[str]
    time_zone: str


@dataclass(slots=True)
class Line:
    """The cells of the line numbered `number`, and the faults found in them so far."""

    number: int
    cells: Mapping[str, str]
    faults: list[Fault] = field(default_factory=list)

    def fault(self, column: str, remedy: str) -> None:
        self.faults.append(Fault(f"line {self.number}, {column}", repr(self.cells[column]), remedy))

    def number_in(self, column: str, low: float, high: float, remedy: str) -> float:
        """The cell as a number from `low` to `high`; else a fault, and not-a-number."""
        value = _number(self.cells[column])
        if not low <= value <= high:
            self.fault(column, remedy)
            return math.nan
        return value


def read_line(line: Line, known: Known) -> tuple[Client, Lawn] | None:
    """The client and lawn of a line; None where something is wrong, with every fault in `line.faults`."""
    _check_text(line)
    _check_keys(line, known)
    _check_email(line)
    position, texture, zones, tap = _position(line), _texture(line), _zones(line), _tap(line)
    if line.faults or position is None or texture is None:
        return None
    cells = line.cells
    zone = cells["time_zone"] or known.time_zone
    client = Client(cells["client"], cells["name"], cells["email"] or None, cells["phone"] or None, zone)
    lawn = Lawn(
        key=cells["lawn"],
        client_key=client.key,
        name=cells["lawn_name"],
        position=position,
        site_key=cells["site"],
        texture=texture,
        zones=zones,
        tap_litres_per_minute=tap,
        traits=cells["notes"],
    )
    return client, lawn


def _check_text(line: Line) -> None:
    for column, cell in line.cells.items():
        where = f"line {line.number}, {column}"
        line.faults += line_faults(where, cell, may_be_empty=column in MAY_BE_EMPTY)


def _check_keys(line: Line, known: Known) -> None:
    for column in ("client", "lawn"):
        if line.cells[column] and not KEY.fullmatch(line.cells[column]):
            line.fault(column, "use small letters a to z, digits and hyphens, 60 at most")
    if line.cells["site"] and line.cells["site"] not in known.sites:
        line.fault("site", f"name a weather site that is set up: {', '.join(sorted(known.sites))}")
    if line.cells["time_zone"] and line.cells["time_zone"] not in time_zones():
        line.fault("time_zone", "give an IANA name, as Europe/London, or leave it empty")


def _check_email(line: Line) -> None:
    from email_validator import EmailNotValidError, validate_email

    if not line.cells["email"]:
        return
    try:
        validate_email(line.cells["email"], check_deliverability=False, allow_smtputf8=False)
    except EmailNotValidError as trouble:
        line.fault("email", f"{trouble} Correct it, or leave it empty")


def _position(line: Line) -> Position | None:
    latitude = line.number_in("latitude", -90, 90, "give degrees from -90 to 90")
    longitude = line.number_in("longitude", -180, 180, "give degrees from -180 to 180")
    return None if math.isnan(latitude + longitude) else Position(latitude, longitude)


def _texture(line: Line) -> Texture | None:
    if line.cells["texture"] in tuple(Texture):
        return Texture(line.cells["texture"])
    if line.cells["texture"]:
        line.fault("texture", f"give one of {', '.join(Texture)}")
    return None


def _tap(line: Line) -> float | None:
    if not line.cells["tap_l_min"]:
        return None
    remedy = f"give {WEAKEST_TAP:.0f} to {STRONGEST_TAP:.0f} L/min, or leave it empty where there is no tap"
    return line.number_in("tap_l_min", WEAKEST_TAP, STRONGEST_TAP, remedy)


def _zones(line: Line) -> tuple[Zone, ...]:
    """Zones written as "front 80; back 60": a name and its area in m2, one after the other."""
    if not line.cells["zones"]:
        return ()
    parts = [part.strip().rpartition(" ") for part in line.cells["zones"].split(";")]
    zones = tuple(Zone(name.strip(), _number(area)) for name, _, area in parts)
    if remedy := _wrong_zones(zones):
        line.fault("zones", remedy)
    return zones


def _wrong_zones(zones: tuple[Zone, ...]) -> str | None:
    """What to do about zones that cannot be, or None."""
    if any(not zone.name or math.isnan(zone.area_m2) for zone in zones):
        return 'write each zone as a name and its m2, as "front 80; back 60"'
    if len({zone.name for zone in zones}) < len(zones):
        return "give each zone its own name"
    if any(zone.area_m2 <= 0 for zone in zones):
        return "give each zone an area above 0 m2"
    if sum(zone.area_m2 for zone in zones) > LARGEST_LAWN_M2:
        return f"a lawn has {LARGEST_LAWN_M2:.0f} m2 at most: give m2, or split it"
    return None


def _number(text: str) -> float:
    return float(text) if NUMBER.fullmatch(text) else math.nan
