"""Daily mean soil temperature at 10 cm from daily minimum, maximum and rain.

The estimate is a weighted sum of exponential memories (weights fitted, see `fitted.py`): air
temperature, air temperature on clear and on rainy days, extraterrestrial radiation, that radiation
through a clear sky and over a wet surface, and the night's minimum in the sunny season. Clearness is
the square root of the day's temperature range divided by the site's own mean range so far. The estimate
of a day uses that day and earlier ones.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass
from datetime import date, timedelta
from math import acos, cos, hypot, log1p, pi, radians, sin, sqrt, tan
from typing import Any

from models.agronomy.fitted import SOIL
from models.facts.weather import Provenance, UsedWeatherDay

WARM_UP_DAYS = 365
SHORT_GAP_DAYS = 3


@dataclass(frozen=True, slots=True)
class SoilParameters:
    """Weights of the memories, their shares, and spreads in °C.

    A weight is °C per unit of its memory: °C, MJ/m² a day, or their product. A share is the part of a
    memory that one day replaces (0 to 1).
    """

    intercept_c: float
    air_fast: float
    air_slow: float
    clear_air: float
    rainy_air: float
    radiation: float
    clear_radiation: float
    damp_radiation: float
    season_night: float

    share_air_fast: float
    share_air_slow: float
    share_clear: float
    share_rainy: float
    share_radiation: float
    share_damp: float
    share_night: float
    surface_store_mm: float
    prior_range_c: float
    prior_range_days: float

    residual_sd_c: float
    filled_sd_c: float
    long_gap_sd_c: float
    unmeasured_sd_c: float
    warm_up_sd_c: float
    doubt_kept: float


FITTED = SoilParameters(**SOIL)

MEMORIES = (
    "air_fast",
    "air_slow",
    "clear_air",
    "rainy_air",
    "radiation",
    "clear_radiation",
    "damp_radiation",
    "season_night",
)
WEIGHTS = ("intercept_c", *MEMORIES)


@dataclass(frozen=True, slots=True)
class SoilState:
    """All that a new day needs from the days before it. `memories` are in the order of `MEMORIES`."""

    last_day: date
    days_seen: int
    mean_range_c: float
    surface_mm: float
    memories: tuple[float, ...]
    doubt_c2: float

    def to_json(self) -> dict[str, Any]:
        """A plain dict; `from_json` gives back the same state, bit for bit."""
        named = dict(zip(MEMORIES, self.memories, strict=True))
        return {**asdict(self), "last_day": self.last_day.isoformat(), "memories": named}

    @classmethod
    def from_json(cls, stored: Mapping[str, Any]) -> SoilState:
        """The state that `to_json` wrote; KeyError where a memory is missing."""
        memories = tuple(stored["memories"][name] for name in MEMORIES)
        return cls(**{**stored, "last_day": date.fromisoformat(stored["last_day"]), "memories": memories})


@dataclass(frozen=True, slots=True)
class SoilEstimate:
    """Daily mean at 10 cm with its standard deviation, °C."""

    day: date
    mean_10cm_c: float
    sd_c: float


def extraterrestrial_radiation_mj_m2(latitude_degrees: float, day_of_year: int) -> float:
    """Ra in MJ/m² a day. FAO-56 (Allen et al. 1998), equations 21 and 23 to 25."""
    latitude = radians(latitude_degrees)
    season = 2 * pi * day_of_year / 365
    inverse_distance = 1 + 0.033 * cos(season)
    declination = 0.409 * sin(season - 1.39)
    # Beyond the polar circles the sun does not set or does not rise: the angle is then pi or 0.
    sunset = acos(min(1.0, max(-1.0, -tan(latitude) * tan(declination))))
    height = sunset * sin(latitude) * sin(declination) + cos(latitude) * cos(declination) * sin(sunset)
    return 24 * 60 / pi * 0.0820 * inverse_distance * height


def advance(
    state: SoilState | None,
    days: Sequence[UsedWeatherDay],
    latitude_degrees: float,
    parameters: SoilParameters = FITTED,
) -> tuple[tuple[SoilEstimate, ...], SoilState]:
    """Estimates for `days`, and the state after the last of them.

    `days` follow each other and `state.last_day` without a hole, else ValueError; so does an empty
    sequence without a state. Cutting the days into several calls changes no bit of the result.
    """
    reached = tuple(states(state, days, latitude_degrees, parameters))
    last = reached[-1] if reached else state
    if last is None:
        raise ValueError("no weather day and no earlier state: there is nothing to estimate from")
    return tuple(estimate_of(after, parameters) for after in reached), last


def estimate_of(state: SoilState, parameters: SoilParameters = FITTED) -> SoilEstimate:
    """The estimate of the state's last day."""
    return SoilEstimate(state.last_day, _mean_c(state, parameters), _sd_c(state, parameters))


def states(
    state: SoilState | None,
    days: Sequence[UsedWeatherDay],
    latitude_degrees: float,
    parameters: SoilParameters = FITTED,
) -> Iterator[SoilState]:
    """The state after each of `days`; what the fitting regresses on."""
    for day in days:
        if state is not None and day.day != state.last_day + timedelta(days=1):
            raise ValueError(f"weather of {day.day} follows {state.last_day}: fill the days between first")
        state = _after(state, day, latitude_degrees, parameters)
        yield state


def _after(
    before: SoilState | None, day: UsedWeatherDay, latitude_degrees: float, by: SoilParameters
) -> SoilState:
    air_c = (day.temperature_min_c + day.temperature_max_c) / 2
    range_c = max(0.0, day.temperature_max_c - day.temperature_min_c)
    radiation = extraterrestrial_radiation_mj_m2(latitude_degrees, day.day.timetuple().tm_yday)
    days_seen = 1 if before is None else before.days_seen + 1
    mean_range_c = _mean_range_c(before, range_c, by)
    clearness = sqrt(range_c / mean_range_c) if mean_range_c > 0 else 0.0
    stored_mm = by.surface_store_mm if before is None else before.surface_mm
    surface_mm = _surface_mm(stored_mm, day.rain_mm, air_c, range_c, radiation, by.surface_store_mm)
    today = (
        (air_c, by.share_air_fast),
        (air_c, by.share_air_slow),
        (clearness * air_c, by.share_clear),
        (log1p(day.rain_mm) * air_c, by.share_rainy),
        (radiation, by.share_radiation),
        (clearness * radiation, by.share_clear),
        (clearness * radiation * surface_mm / by.surface_store_mm, by.share_damp),
        (radiation * day.temperature_min_c, by.share_night),
    )
    kept = tuple(value for value, _ in today) if before is None else before.memories
    memories = tuple(old + share * (value - old) for old, (value, share) in zip(kept, today, strict=True))
    doubt_c2 = _doubt_c2(before, day, by)
    return SoilState(day.day, days_seen, mean_range_c, surface_mm, memories, doubt_c2)


def _mean_range_c(before: SoilState | None, range_c: float, by: SoilParameters) -> float:
    """Mean of all ranges so far; a prior of some weight steadies the first weeks."""
    if before is None:
        mean_c, weight = by.prior_range_c, by.prior_range_days
    else:
        mean_c, weight = before.mean_range_c, by.prior_range_days + before.days_seen
    return mean_c + (range_c - mean_c) / (weight + 1)


def _surface_mm(
    stored_mm: float, rain_mm: float, air_c: float, range_c: float, radiation: float, capacity_mm: float
) -> float:
    """Water left in the surface store: rain fills it, evaporation takes its filled share of ET0.

    ET0 by Hargreaves, FAO-56 equation 52 (0.408 mm evaporate per MJ/m²).
    """
    filled_mm = min(capacity_mm, stored_mm + rain_mm)
    reference_et_mm = 0.0023 * max(0.0, air_c + 17.8) * sqrt(range_c) * 0.408 * radiation
    return max(0.0, filled_mm - reference_et_mm * filled_mm / capacity_mm)


def _doubt_c2(before: SoilState | None, day: UsedWeatherDay, by: SoilParameters) -> float:
    """Variance added by days that were not measured; it fades as the memories forget them."""
    filled_c = 0.0
    if day.gap_days > SHORT_GAP_DAYS:
        filled_c = by.long_gap_sd_c
    elif day.gap_days or day.filled:
        filled_c = by.filled_sd_c
    unmeasured_c = 0.0 if day.provenance is Provenance.MEASURED else by.unmeasured_sd_c
    today = filled_c**2 + unmeasured_c**2
    return today if before is None else max(today, by.doubt_kept * before.doubt_c2)


def _mean_c(state: SoilState, by: SoilParameters) -> float:
    total = by.intercept_c
    for name, memory in zip(MEMORIES, state.memories, strict=True):
        total += getattr(by, name) * memory
    return total


def _sd_c(state: SoilState, by: SoilParameters) -> float:
    cold_start = max(0.0, 1 / sqrt(state.days_seen) - 1 / sqrt(WARM_UP_DAYS))
    return hypot(by.residual_sd_c, sqrt(state.doubt_c2), by.warm_up_sd_c * cold_start)
