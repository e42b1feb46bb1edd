"""`swardtide judge`: how good the estimates are, against measured records."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from frontends.commands.judge_outlook import outlook
from frontends.commands.judge_readings import readings
from frontends.commands.judge_told import for_machines, for_people
from frontends.commands.judgement import Estimated, Judgement, judge_estimates, scored
from frontends.commands.soil_records import SoilRecord, load_records
from models.agronomy.soil_laws import FITTED, Laws

if TYPE_CHECKING:
    from models.agronomy.reference.station import StationWeather

app = typer.Typer(no_args_is_help=True)
app.command()(outlook)
app.command()(readings)

COLUMNS = ("sun", "wind")


@app.callback()
def judge() -> None:
    """How good the estimates and plans are, against measured records."""


@app.command()
def soil(
    records: Annotated[Path, typer.Option(help="Directory of station files with stations.csv.")],
    as_json: Annotated[bool, typer.Option("--json", help="For machines.")] = False,
    leave_one_out: Annotated[
        bool, typer.Option("--leave-one-out", help="Refit on the other stations for each.")
    ] = False,
    with_: Annotated[str | None, typer.Option("--with", help="More columns to use: sun,wind.")] = None,
) -> None:
    """Judge the soil estimate on measured records, with published models beside it on the same days."""
    used = _columns(with_)
    loaded = load_records(records)
    ways = dict(_ways(loaded, leave_one_out, used))
    ours = ways.pop("estimate")
    if as_json:
        typer.echo(json.dumps(for_machines(ours, ways)))
    else:
        typer.echo("\n".join(for_people(ours, ways)))


def soil_estimates(
    records: Sequence[SoilRecord], leave_one_out: bool, used: frozenset[str] = frozenset()
) -> list[Estimated]:
    """The estimate's daily means and spreads, by the shipped parameters or refitted on the other stations.

    The only place where the judging meets the estimator; `used` names columns beyond minimum, maximum
    and rain.
    """
    windy = "wind" in used
    laws = _left_out(records, windy) if leave_one_out else [FITTED] * len(records)
    return [_estimate(record, by, used) for record, by in zip(records, laws, strict=True)]


def _left_out(records: Sequence[SoilRecord], windy: bool) -> list[Laws]:
    # The fitting is loaded here, for those who ask for it.
    from frontends.commands.fit_soil import side_by_side
    from models.agronomy.soil_choice import refit_left_out

    return refit_left_out(side_by_side(records), windy)


def _estimate(record: SoilRecord, by: Laws, used: frozenset[str]) -> Estimated:
    from models.agronomy.soil import advance

    estimates, _ = advance(None, record.days_with(used), record.station.position.latitude, by)
    return Estimated(
        {estimate.day: estimate.mean_10cm_c for estimate in estimates},
        {estimate.day: estimate.sd_c for estimate in estimates},
    )


def _columns(written: str | None) -> frozenset[str]:
    """The columns that --with names; the command line's own error for one that cannot be used."""
    named = frozenset(written.split(",")) if written is not None else frozenset()
    if unknown := sorted(named - set(COLUMNS)):
        message = f"{', '.join(unknown)}: there is {' and '.join(COLUMNS)}, written as sun,wind"
        raise typer.BadParameter(message, param_hint="--with")
    if named == {"sun"}:
        message = "the estimate uses sun where wind is known too: write sun,wind, or wind"
        raise typer.BadParameter(message, param_hint="--with")
    return named


def _ways(
    records: Sequence[SoilRecord], leave_one_out: bool, used: frozenset[str]
) -> Iterator[tuple[str, Judgement]]:
    """The estimate and every published peer, each judged on the same days with the same columns."""
    from models.agronomy.reference.peers import CLIMATE, PEERS

    weather: list[StationWeather] = []
    for name in _shown(["estimate", CLIMATE, *PEERS]):
        if name == "estimate":
            yield name, judge_estimates(records, soil_estimates(records, leave_one_out, used))
            continue
        weather = weather or [_weather(record, used) for record in records]
        yield name, judge_estimates(records, _peer(name, records, weather))


def _shown(names: Sequence[str]) -> Iterable[str]:
    """The names one by one, with a bar on a terminal's standard error."""
    if not sys.stderr.isatty():
        return names
    from rich.console import Console
    from rich.progress import track

    return track(names, "Judging", console=Console(stderr=True), transient=True)


def _weather(record: SoilRecord, used: frozenset[str]) -> StationWeather:
    from models.agronomy.reference.station import station_weather

    return station_weather(
        record.days,
        record.station.position.latitude,
        record.sun_h if "sun" in used else None,
        record.wind_m_s if "wind" in used else None,
    )


def _peer(name: str, records: Sequence[SoilRecord], weather: Sequence[StationWeather]) -> list[Estimated]:
    from models.agronomy.reference.climate import climate_c
    from models.agronomy.reference.peers import CLIMATE, PEERS

    if name != CLIMATE:
        return [Estimated(station.by_day(PEERS[name](station))) for station in weather]
    measured = [scored(record) for record in records]
    others = [
        [soil_c for at, soil_c in enumerate(measured) if at != left_out] for left_out in range(len(measured))
    ]
    return [
        Estimated(station.by_day(climate_c(station.days, elsewhere)))
        for station, elsewhere in zip(weather, others, strict=True)
    ]
