"""Unit conversions, each with its factor's meaning. Names carry units everywhere else."""

from __future__ import annotations

from datetime import date

SECONDS_PER_DAY = 86_400
SQUARE_FEET_PER_M2 = 10.763910417  # 1 ft = 0.3048 m exactly (international foot, 1959)


def litres_for(depth_mm: float, area_m2: float) -> float:
    """Litres that bring `depth_mm` of water to `area_m2`: 1 mm is 1 L/m2."""
    return depth_mm * area_m2


def minutes_at_tap(litres: float, tap_litres_per_minute: float) -> float:
    """Minutes a tap of the given flow [L/min] takes to give `litres`."""
    return litres / tap_litres_per_minute


def ms_from_kmh(speed_kmh: float) -> float:
    """Metres a second from kilometres an hour."""
    return speed_kmh / 3.6


MONTHS = (
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
)


def day_words(day: date) -> str:
    """A day as people say it within a season, "18 April", whatever the machine's language."""
    return f"{day.day} {MONTHS[day.month - 1]}"
