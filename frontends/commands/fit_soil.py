"""`fit-soil`: fits the weights of the soil estimate and writes the text of `models/agronomy/fitted.py`."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from frontends.commands.soil_records import SoilRecord, load_records
from models.agronomy.soil import FITTED, WEIGHTS, SoilParameters
from models.clock import now_utc

if TYPE_CHECKING:
    from models.agronomy.soil_fit import TrainingSet

app = typer.Typer()

TEXT = '''"""Fitted parameters of the soil estimate, as `swardtide fit-soil` wrote them. Not edited by hand.

Weights: least squares on {days} station-days from 2013-01-01 at {stations} stations
({names}),
fitted on {on}. `residual_sd_c` is the root mean square error at a station left out of the fitting.
Which memories there are, their shares, store and prior: chosen on these stations, on a small grid, for the
error of daily means and of the opening day together; with the grid's choice for each station made on the
others, the mean error at a station left out was 0.89 °C and the opening 4.5 days wrong in the mean.
Spreads of filled days, long gaps and first days, and `doubt_kept`: rounded from gaps of 1, 3 and 10 days
cut into these records and from late starts in them. `unmeasured_sd_c` is an engineering choice.

Copyright Met Éireann. Source www.met.ie. The data is published under a Creative Commons Attribution
4.0 International (CC BY 4.0) licence, https://creativecommons.org/licenses/by/4.0/. Met Éireann does
not accept any liability whatsoever for any error or omission in the data, their availability, or for
any loss or damage arising from their use. The material has been modified from the original: cut to
2005 onwards and to a few columns, units converted; these numbers are derived from it.
"""

from typing import Final

SOIL: Final[dict[str, float]] = {{
{numbers}
}}
'''


@app.command("fit-soil")
def fit(
    records: Annotated[Path, typer.Option(help="Directory of station files with stations.csv.")],
    on: Annotated[str | None, typer.Option(help="Day to write as the day of fitting; else today.")] = None,
) -> None:
    """Fit the soil estimate on measured records and print the text of models/agronomy/fitted.py."""
    day = now_utc().date() if on is None else _day(on)
    typer.echo(fitted_text(load_records(records), day), nl=False)


def fitted_text(records: Sequence[SoilRecord], on: date) -> str:
    """The text of `fitted.py` for these records. Shares and spreads stay as shipped."""
    from models.agronomy.soil_fit import fit_weights, unseen_station_sd_c

    sets = training_sets(records, FITTED)
    fitted = fit_weights(sets, FITTED)
    fitted = replace(fitted, residual_sd_c=round(unseen_station_sd_c(sets, FITTED), 3))
    return TEXT.format(
        days=sum(len(station.measured_c) for station in sets),
        stations=len(records),
        names=", ".join(record.station.file for record in records),
        on=on.isoformat(),
        numbers="\n".join(
            f'    "{name}": {_written(name, value)},' for name, value in asdict(fitted).items()
        ),
    )


def training_sets(records: Sequence[SoilRecord], by: SoilParameters) -> list[TrainingSet]:
    """One set for each record, in order."""
    from models.agronomy.soil_fit import training_set

    return [
        training_set(record.days, record.soil_10cm_c, record.station.position.latitude, by)
        for record in records
    ]


def _written(name: str, value: float) -> str:
    # Six figures: the last bits of a least squares differ between processors, and mean nothing.
    return f"{value:.6g}" if name in WEIGHTS else repr(value)


def _day(written: str) -> date:
    try:
        return date.fromisoformat(written)
    except ValueError as error:
        raise typer.BadParameter(f"{written!r} is not a day: write YYYY-MM-DD", param_hint="--on") from error
