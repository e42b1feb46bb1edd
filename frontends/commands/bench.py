"""`swardtide bench`: what the estimates cost in time and memory, at several sizes."""

from __future__ import annotations

import resource
from collections.abc import Iterator
from dataclasses import dataclass
from time import perf_counter
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from models.agronomy.daily_arrays import States, Weather

app = typer.Typer(no_args_is_help=True)

YEAR_DAYS = 365
SHARES_OF_SITES = (0.1, 0.3, 1.0)


@app.callback()
def bench() -> None:
    """What the estimates cost in time and memory."""


@dataclass(frozen=True, slots=True)
class Cost:
    """Of so many sites over so many years; a plain pass is one sum a day over the same arrays."""

    sites: int
    years: int
    seconds: float
    pass_seconds: float
    new_day_seconds: float
    peak_mb: float


@app.command()
def soil(
    sites: Annotated[int, typer.Option(min=10, help="Sites of the largest run.")] = 1000,
    years: Annotated[int, typer.Option(min=1, help="Years of every site.")] = 30,
) -> None:
    """Time the soil estimate over invented weather, at a tenth, a third and all of the sites."""
    typer.echo(
        f"{'sites':>7}{'years':>7}{'seconds':>9}{'plain pass':>12}{'ratio':>7}{'new day':>11}{'peak':>9}"
    )
    for share in SHARES_OF_SITES:
        cost = _cost(round(sites * share), years)
        typer.echo(
            f"{cost.sites:>7}{cost.years:>7}{cost.seconds:>9.2f}{cost.pass_seconds:>10.3f} s"
            f"{cost.seconds / cost.pass_seconds:>7.0f}{1e3 * cost.new_day_seconds:>8.2f} ms"
            f"{cost.peak_mb:>6.0f} MB"
        )


def _cost(sites: int, years: int) -> Cost:
    import numpy as np

    from models.agronomy.soil_arrays import advance_arrays, first_states

    latitudes = np.linspace(50.0, 58.0, sites)
    days_of_year = np.arange(1, YEAR_DAYS + 1)
    states = first_states(latitudes, np.full(sites, 6.0), 1)
    seconds = pass_seconds = 0.0
    for weather in _invented_years(sites, years):
        begun = perf_counter()
        _, states = advance_arrays(states, weather, days_of_year, latitudes)
        seconds += perf_counter() - begun
        pass_seconds += _plain_pass(weather)
    new_day = _new_day(states, weather.cut(slice(0, 1)), latitudes)
    peak_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    return Cost(sites, years, seconds, pass_seconds, new_day, peak_mb)


def _new_day(states: States, weather: Weather, latitudes: NDArray[np.float64]) -> float:
    import numpy as np

    from models.agronomy.soil_arrays import advance_arrays

    begun = perf_counter()
    advance_arrays(states, weather, np.array([1]), latitudes)
    return perf_counter() - begun


def _plain_pass(weather: Weather) -> float:
    """Seconds for one sum a day over the same arrays: the least that any estimate costs."""
    begun = perf_counter()
    total = weather.low_c[0] * 0.0
    for low, high, rain in zip(weather.low_c, weather.high_c, weather.rain_mm, strict=True):
        total = total + (low + high) / 2 + rain
    return perf_counter() - begun


def _invented_years(sites: int, years: int) -> Iterator[Weather]:
    import numpy as np

    from models.agronomy.daily_arrays import Weather

    chance = np.random.default_rng(7)
    season = 10 - 6 * np.cos(2 * np.pi * np.arange(YEAR_DAYS) / YEAR_DAYS)[:, None]
    for _ in range(years):
        mean_c = season + chance.normal(0, 3, (YEAR_DAYS, sites))
        half_c = chance.uniform(1, 6, (YEAR_DAYS, sites))
        rain_mm = np.maximum(0.0, chance.normal(0, 4, (YEAR_DAYS, sites)))
        yield Weather(mean_c - half_c, mean_c + half_c, rain_mm)
