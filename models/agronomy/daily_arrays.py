"""Days of many sites as arrays: weather in, estimates out, and what is remembered from day to day.

Arrays of days are (days, sites); a state holds (sites,) and (layers, sites).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, fields, replace

import numpy as np

from models.agronomy.sky import Array


@dataclass(frozen=True, slots=True)
class Weather:
    """Daily weather, (days, sites). Wind at 10 m, sun hours and radiation may hold NaN, or be left out."""

    low_c: Array
    high_c: Array
    rain_mm: Array
    wind_m_s: Array | None = None
    sun_h: Array | None = None
    radiation_mj_m2: Array | None = None

    def on(self, day: int) -> Weather:
        """One day, (sites,)."""
        # Added to nothing each row is laid out anew: processors round by layout, not only by value.
        return self.each(lambda days: days[day] + 0.0)

    def cut(self, days: slice) -> Weather:
        """Some of the days."""
        return self.each(lambda all_: all_[days])

    def at(self, sites: Sequence[int]) -> Weather:
        """Some of the sites, or some several times."""
        return self.each(lambda all_: all_[:, list(sites)])

    def each(self, change: Callable[[Array], Array]) -> Weather:
        """Every column that there is, changed."""
        columns = {field.name: getattr(self, field.name) for field in fields(self)}
        return replace(self, **{name: change(its) for name, its in columns.items() if its is not None})


@dataclass(frozen=True, slots=True)
class States:
    """What a new day needs from the days before it. NaN: no day before."""

    days_seen: Array
    layers_c: Array
    mean_range_c: Array
    mean_wind_m_s: Array
    winds_seen: Array
    topsoil_mm: Array
    air_c: Array
    air_slow_c: Array
    high_c: Array
    clear: Array
    radiation_slow: Array
    radiation_season: Array


@dataclass(frozen=True, slots=True)
class Estimates:
    """°C, (days, sites); `sd` is that at a site never seen whose weather is measured."""

    at_10_cm: Array
    at_2_to_5_cm: Array
    sd: Array


def together(pieces: Sequence[Estimates]) -> Estimates:
    """Days that follow each other as one."""
    names = [field.name for field in fields(Estimates)]
    return Estimates(*(np.concatenate([getattr(piece, name) for piece in pieces]) for name in names))
