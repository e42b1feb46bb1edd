"""`fit-soil`: fits the soil estimate on measured records and writes `models/agronomy/fitted.py`."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from datetime import date, timedelta
from pathlib import Path
from pprint import pformat
from typing import TYPE_CHECKING, Annotated, Any

import typer

from frontends.commands.soil_records import SoilRecord, load_records
from models.clock import now_utc
from models.errors import Fault, RefusedInput

if TYPE_CHECKING:
    from models.agronomy.soil_choice import FittedForm
    from models.agronomy.soil_fit import Records
    from models.agronomy.soil_laws import Form

app = typer.Typer()

TEXT = '''"""Fitted numbers of the soil estimate: written by `swardtide fit-soil`, laid out by `ruff format`.

Fitted on {on} on {days} station-days from 2013-01-01 at {stations} stations
({names}):
clearness by least squares on the days with measured radiation, the surface by Gauss-Newton, the correction
by ridge regression. Ridge, rise and spread were chosen on stations left out of the fit they were tried
with. Mean error at a station left out, daily and of the opening, with that choice made on all of them:
without sun and wind {plain}; with both where there are some {windy}.
DOUBT: rounded from gaps of 1, 3 and 10 days cut into these records, their rain too, and from late starts;
`unmeasured_sd_c` is an engineering choice.

Copyright Met Éireann. Source www.met.ie. The data is published under a Creative Commons Attribution
4.0 International (CC BY 4.0) licence, https://creativecommons.org/licenses/by/4.0/. Met Éireann does
not accept any liability whatsoever for any error or omission in the data, their availability, or for
any loss or damage arising from their use. The material has been modified from the original: cut to
2005 onwards and to a few columns, units converted; these numbers are derived from it.
"""

from typing import Any, Final

CLEARNESS: Final[dict[str, float]] = {clearness}

PLAIN: Final[dict[str, Any]] = {plain_form}

WINDY: Final[dict[str, Any]] = {windy_form}

RIDGE: Final[dict[str, float]] = {ridge}

DOUBT: Final[dict[str, float]] = {doubt}
'''

# What stands before a station's first day, where others have begun: mild and never scored.
FILLER = {"temperature_min_c": 8.0, "temperature_max_c": 12.0, "rain_mm": 0.0}


@app.command("fit-soil")
def fit(
    records: Annotated[Path, typer.Option(help="Directory of station files with stations.csv.")],
    on: Annotated[str | None, typer.Option(help="Day to write as the day of fitting; else today.")] = None,
) -> None:
    """Fit the soil estimate on measured records and print the text of models/agronomy/fitted.py.

    Takes some minutes.
    """
    day = now_utc().date() if on is None else _day(on)
    typer.echo(fitted_text(load_records(records), day), nl=False)


def fitted_text(records: Sequence[SoilRecord], on: date) -> str:
    """The text of `fitted.py` for these records. The doubt stays as shipped.

    RefusedInput where a station has no wind, which the windy form is fitted on.
    """
    from models.agronomy.fitted import DOUBT
    from models.agronomy.soil_choice import fit_form

    calm = [record.station.file for record in records if not record.wind_m_s]
    if calm:
        remedy = "leave the station out, or add its wind_m_s: the windy form is fitted on measured wind"
        raise RefusedInput("records to fit on", [Fault(file, "no wind", remedy) for file in calm])
    together = side_by_side(records)
    plain, windy = fit_form(together, windy=False), fit_form(together, windy=True)
    return TEXT.format(
        on=on.isoformat(),
        days=sum(len(together.scored(station)) for station in together.stations),
        stations=len(records),
        names=", ".join(record.station.file for record in records),
        plain=_told(plain),
        windy=_told(windy),
        clearness=_written(asdict(plain.laws.clearness)),
        plain_form=_written(form_numbers(plain.laws.plain)),
        windy_form=_written(form_numbers(windy.laws.windy)),
        ridge=_written({"plain": plain.choice.ridge, "windy": windy.choice.ridge}),
        doubt=_written(DOUBT),
    )


def side_by_side(records: Sequence[SoilRecord]) -> Records:
    """The records as arrays from the first day of any to the last of any, with all their columns."""
    import numpy as np

    from models.agronomy.daily_arrays import Weather
    from models.agronomy.judging import scored_days
    from models.agronomy.soil import COLUMNS
    from models.agronomy.soil_fit import Records

    first = min(record.days[0].day for record in records)
    last = max(record.days[-1].day for record in records)
    days = tuple(first + timedelta(days=n) for n in range((last - first).days + 1))
    known = [{day.day: day for day in record.days_with({"sun", "wind"})} for record in records]
    soil = [scored_days(record.days[0].day, record.soil_10cm_c) for record in records]

    def column(name: str) -> Any:
        rows = [[getattr(by_day.get(day), name, FILLER.get(name)) for by_day in known] for day in days]
        return np.array(rows, dtype=np.float64)

    measured = np.array([[its.get(day, np.nan) for its in soil] for day in days])
    latitudes = np.array([record.station.position.latitude for record in records])
    return Records(days, Weather(*map(column, COLUMNS)), measured, latitudes)


def form_numbers(form: Form) -> dict[str, Any]:
    """A form as the plain numbers that `soil_laws.form_of` reads."""
    numbers = asdict(form)
    return {**numbers, "spread": numbers["spread"]["weights"]}


def _told(form: FittedForm) -> str:
    return f"{form.choice.rmse_c:.3f} °C and {form.choice.opening_days:.1f} days"


def _written(numbers: Any) -> str:
    return pformat(_rounded(numbers), width=100, sort_dicts=False, compact=True)


def _rounded(value: Any) -> Any:
    """Six figures: the last bits of a least squares differ between processors, and mean nothing."""
    if isinstance(value, dict):
        return {name: _rounded(its) for name, its in value.items()}
    if isinstance(value, tuple):
        return tuple(_rounded(its) for its in value)
    return float(f"{value:.6g}") if isinstance(value, float) else value


def _day(written: str) -> date:
    try:
        return date.fromisoformat(written)
    except ValueError as error:
        raise typer.BadParameter(f"{written!r} is not a day: write YYYY-MM-DD", param_hint="--on") from error
