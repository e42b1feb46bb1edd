"""What the soil estimate gives, and what it must remember from one day to the next. Plain values."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from datetime import date
from typing import Any


@dataclass(frozen=True, slots=True)
class SoilState:
    """One site at the end of `last_day`: all that a new day needs from the days before it."""

    last_day: date
    days_seen: int
    layers_c: tuple[float, ...]
    mean_range_c: float
    mean_wind_m_s: float
    winds_seen: float
    topsoil_mm: float
    air_c: float
    air_slow_c: float
    high_c: float
    clear: float
    radiation_slow: float
    radiation_season: float
    doubt_c2: float

    def to_json(self) -> dict[str, Any]:
        """A plain dict; `from_json` gives back the same state, bit for bit."""
        return {**asdict(self), "last_day": self.last_day.isoformat(), "layers_c": list(self.layers_c)}

    @classmethod
    def from_json(cls, stored: Mapping[str, Any]) -> SoilState:
        """The state that `to_json` wrote; TypeError where a value is missing or unknown."""
        last_day, layers_c = date.fromisoformat(stored["last_day"]), tuple(stored["layers_c"])
        return cls(**{**stored, "last_day": last_day, "layers_c": layers_c})


@dataclass(frozen=True, slots=True)
class SoilEstimate:
    """Daily means at 10 cm and from 2 to 5 cm; the standard deviation is that of the first. °C."""

    day: date
    mean_10cm_c: float
    sd_c: float
    mean_2_to_5cm_c: float
