"""`fit-readings`: fits the prior of a lawn's correction and writes `models/agronomy/fitted_readings.py`."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import Annotated

import typer

from models.clock import now_utc

app = typer.Typer()

TEXT = '''"""Fitted prior of a place's difference from its estimate, as `swardtide fit-readings` wrote it.

Not edited by hand. Fitted on {on} on the errors of the estimate at {stations} stations
({names}),
each with the estimate fitted on the others. Lasting parts: least squares of a station's errors on a
constant, on the load of three days less {usual} mm, and on the estimate's lead over its three weeks; given
are the root mean squares over the stations, times sqrt(n/(n-2)) as few stations tell a spread only so well.
Fading parts: two exponentials and the record's own error, by least squares on the mean autocovariance of
what the lasting parts leave. `*_fade` are days to 1/e.

{credit}
"""

from typing import Final

READINGS: Final[dict[str, float]] = {{
{numbers}
}}
'''


@app.command("fit-readings")
def fit(
    records: Annotated[Path, typer.Option(help="Directory of station files with stations.csv.")],
    on: Annotated[str | None, typer.Option(help="Day to write as the day of fitting; else today.")] = None,
) -> None:
    """Fit the prior of lawns' corrections and print the text of models/agronomy/fitted_readings.py."""
    from frontends.commands.judge_readings import stations_of
    from models.agronomy.readings_fit import fit_readings, place_errors

    stations = stations_of(records)
    places = [place_errors(station.soil_days, station.measured_c) for station in stations]
    day = now_utc().date() if on is None else _day(on)
    files = [station.file for station in stations]
    typer.echo(fitted_text(fit_readings(places), files, day), nl=False)


def fitted_text(numbers: dict[str, float], files: Sequence[str], on: date) -> str:
    """The text of `fitted_readings.py` for these numbers."""
    from models.agronomy.lawn_prior import USUAL_LOAD_MM

    return TEXT.format(
        on=on.isoformat(),
        stations=len(files),
        names=", ".join(files),
        usual=USUAL_LOAD_MM,
        credit=CREDIT,
        # Three figures: few stations tell no more.
        numbers="\n".join(f'    "{name}": {float(f"{value:.3g}")!r},' for name, value in numbers.items()),
    )


CREDIT = """Copyright Met Éireann. Source www.met.ie. The data is published under a Creative Commons
Attribution 4.0 International (CC BY 4.0) licence, https://creativecommons.org/licenses/by/4.0/.
Met Éireann does not accept any liability whatsoever for any error or omission in the data, their
availability, or for any loss or damage arising from their use. The material has been modified from
the original: cut to 2005 onwards and to a few columns, units converted; these numbers are derived from it."""


def _day(written: str) -> date:
    try:
        return date.fromisoformat(written)
    except ValueError as error:
        raise typer.BadParameter(f"{written!r} is not a day: write YYYY-MM-DD", param_hint="--on") from error
