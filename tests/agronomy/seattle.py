"""Real daily weather, Seattle 2012 to 2015 (NOAA, as carried by `vega_datasets`), as used days."""

from functools import cache

import vega_datasets

from models.facts.weather import Provenance, UsedWeatherDay

LATITUDE_DEGREES = 47.6


@cache
def seattle_days() -> tuple[UsedWeatherDay, ...]:
    """1,461 days without a gap."""
    frame = vega_datasets.local_data.seattle_weather()
    return tuple(
        UsedWeatherDay(
            row.date.date(), row.temp_min, row.temp_max, row.precipitation, Provenance.MEASURED, revision=1
        )
        for row in frame.itertuples()
    )
