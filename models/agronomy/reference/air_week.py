"""The 7-day mean of air as the soil temperature: the rule of thumb in use (common practice).

For judging only; nothing that is planned rests on it.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from models.facts.weather import UsedWeatherDay

WEEK = 7


def air_week_c(days: Sequence[UsedWeatherDay]) -> dict[date, float]:
    """Mean of (minimum + maximum) / 2 over each day and the six before it, °C; the first six have none."""
    air_c = [(day.temperature_min_c + day.temperature_max_c) / 2 for day in days]
    return {
        days[last].day: sum(air_c[last - WEEK + 1 : last + 1]) / WEEK for last in range(WEEK - 1, len(days))
    }
