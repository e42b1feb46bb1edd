"""Where: positions, weather sites, clients, lawns and their zones."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


@dataclass(frozen=True, slots=True)
class Position:
    """Degrees, WGS 84."""

    latitude: float
    longitude: float

    def __post_init__(self) -> None:
        if not (-90 <= self.latitude <= 90 and -180 <= self.longitude <= 180):
            raise ValueError(
                f"position {self.latitude}, {self.longitude} is not on Earth: "
                "latitude -90 to 90, longitude -180 to 180"
            )


class Texture(StrEnum):
    """Texture class of the top soil."""

    SAND = "sand"
    LOAM = "loam"
    CLAY = "clay"


class Shade(StrEnum):
    """How much of the day's sun trees and buildings keep from a lawn."""

    OPEN = "open"
    PARTLY = "partly shaded"
    SHADED = "shaded"


@dataclass(frozen=True, slots=True)
class Site:
    """A place of a few kilometres for which weather is fetched and soil estimated once."""

    key: str
    name: str
    position: Position
    elevation_m: float
    source: str  # name of a weather source: "station-file" or "meteostat"
    source_ref: str = ""  # what the source calls this place: a file's stem, a station's id; empty: nearest


class ClientState(StrEnum):
    ACTIVE = "active"
    LEFT = "left"


@dataclass(frozen=True, slots=True)
class Client:
    key: str
    name: str
    email: str | None
    phone: str | None
    time_zone: str
    state: ClientState = ClientState.ACTIVE
    token_version: int = 1


@dataclass(frozen=True, slots=True)
class Zone:
    """A marked part of a lawn with its own area."""

    name: str
    area_m2: float


@dataclass(frozen=True, slots=True)
class Lawn:
    """One treated place. `tap_litres_per_minute` is None where there is no outside tap."""

    key: str
    client_key: str
    name: str
    position: Position
    site_key: str
    texture: Texture
    zones: tuple[Zone, ...]
    tap_litres_per_minute: float | None
    traits: str = ""  # access, gate, dog: words for the person who attends
    shade: Shade = Shade.OPEN

    @property
    def area_m2(self) -> float:
        return sum(zone.area_m2 for zone in self.zones)
