"""`swardtide soil LAWN | --site SITE`: the soil's temperature in words, and as a picture."""

from __future__ import annotations

import os
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from frontends.commands.talking import AsJson, Desk, day_of, open_desk, say
from models.errors import Fault, RefusedInput

if TYPE_CHECKING:
    from frontends.soil_facts import PlaceSoil
    from models.facts.season import Span
    from models.facts.weather import SoilDay

app = typer.Typer(pretty_exceptions_enable=False, add_completion=False)
DAYS_TOLD = 7


@app.command()
def soil(
    lawn: Annotated[str | None, typer.Argument(help="A lawn's key: see `swardtide clients list`.")] = None,
    site: Annotated[str | None, typer.Option(help="A weather site's key, in place of a lawn.")] = None,
    first: Annotated[str | None, typer.Option("--from", metavar="DAY", help="YYYY-MM-DD.")] = None,
    last: Annotated[str | None, typer.Option("--to", metavar="DAY", help="YYYY-MM-DD.")] = None,
    plot: Annotated[Path | None, typer.Option(metavar="FILE", help="Write the picture here (SVG).")] = None,
    as_json: AsJson = False,
) -> None:
    """Tell the estimated soil at 10 cm, day by day: the last week, or the days from --from to --to."""
    from notifiers.pictures.soil import soil_svg

    if (lawn is None) == (site is None):
        raise typer.BadParameter("name a lawn, or a site with --site", param_hint="LAWN")
    with open_desk() as desk:
        place = _read(desk, lawn, site, first, last)
    told = _days_told(place, whole=first is not None or last is not None)
    if plot is not None:
        write_whole(plot, soil_svg(place.picture))
    say([*_lines(place, told), *_written(plot)], _value(place, told, plot), as_json)


def write_whole(path: Path, content: bytes) -> None:
    """Write a file so that it is there whole or not at all; RefusedInput where it cannot be written."""
    part = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        part.write_bytes(content)
        part.replace(path)
    except OSError as trouble:
        part.unlink(missing_ok=True)
        remedy = "name a file in a folder that this user may write to"
        raise RefusedInput("picture", [Fault("--plot", f"{path}: {trouble.strerror}", remedy)]) from trouble


def _read(desk: Desk, lawn: str | None, site: str | None, first: str | None, last: str | None) -> PlaceSoil:
    from frontends.soil_facts import read_lawn_soil, read_site_soil

    store, shown = desk.parts.store, _span(first, last, desk.today)
    if lawn is not None:
        return read_lawn_soil(store, lawn, desk.now, shown)
    return read_site_soil(store, site or "", desk.now, shown)


def _span(first: str | None, last: str | None, today: date) -> Span | None:
    """The days asked for: to today without an end, a week without a beginning; None without either."""
    from datetime import timedelta

    from models.facts.season import Span

    if first is None and last is None:
        return None
    ends = today if last is None else day_of(last, "--to")
    begins = ends - timedelta(days=DAYS_TOLD - 1) if first is None else day_of(first, "--from")
    if ends < begins:
        raise typer.BadParameter(f"{ends} lies before {begins}", param_hint="--to")
    return Span(begins, ends)


def _days_told(place: PlaceSoil, *, whole: bool) -> tuple[SoilDay, ...]:
    """All that was asked for, or the newest week; forecast days ahead of it are told too."""
    days = place.picture.days_shown
    if whole:
        return days
    known = [soil for soil in days if soil.day < place.picture.today]
    return (*known[-DAYS_TOLD:], *(soil for soil in days if soil.day >= place.picture.today))


def _lines(place: PlaceSoil, told: tuple[SoilDay, ...]) -> Iterator[str]:
    lawn, site = place.lawn, f"weather site {place.site.name} ({place.site.key})"
    yield f"{site}." if lawn is None else f"{lawn.name} ({lawn.key}), {site}."
    yield from _estimate_lines(place)
    yield from (_day_line(soil) for soil in told)
    yield from _gap_lines(told)
    yield from _source_lines(place)


def _estimate_lines(place: PlaceSoil) -> Iterator[str]:
    from notifiers.pictures.words import degrees, estimate_words, newest

    days = place.picture.days_shown
    if not days:
        yield "There is no estimate for these days: `swardtide step weather`, then `swardtide step soil`."
        return
    yield f"Soil at 10 cm: {estimate_words(newest(days, place.picture.today))}."
    if place.rule is not None and place.season is not None:
        limit = f"the limit of {place.season.words} is {place.rule.limit_c:g} °C"
        span = f"{place.rule.trailing_days}-day mean before {place.picture.today}"
        mean_c = _mean_c(place)
        yield f"{span}: {'not known' if mean_c is None else f'{degrees(mean_c)} °C'}; {limit}."


def _mean_c(place: PlaceSoil) -> float | None:
    from scheduler.windows.finder import mean_c

    return mean_c(place.trailing) if place.trailing else None


def _day_line(soil: SoilDay) -> str:
    from notifiers.pictures.facts import band_c, kind_of
    from notifiers.pictures.words import degrees

    notes = {"filled": f"  across a gap of {soil.gap_days} days without weather", "forecast": "  forecast"}
    low, high = band_c(soil)
    span = f"{degrees(low)} to {degrees(high)}"
    return f"  {soil.day}  {degrees(soil.mean_10cm_c):>5} °C  ({span}){notes.get(kind_of(soil), '')}"


def _gap_lines(told: tuple[SoilDay, ...]) -> Iterator[str]:
    filled = sum(soil.gap_days > 0 for soil in told)
    missing = (told[-1].day - told[0].day).days + 1 - len(told) if told else 0
    if filled:
        yield f"Weather was missing on {filled} of {len(told)} days and was filled: their range is wider."
    if missing:
        yield f"{missing} days between the first and the last have no estimate."


def _source_lines(place: PlaceSoil) -> Iterator[str]:
    from frontends.web.season_page import credits

    yield from (f"{credit}." for credit in credits((place.site,), place.credits))
    yield "An estimate: the probe on the lawn decides on the day."


def _written(plot: Path | None) -> list[str]:
    return [] if plot is None else [f"The picture is in {plot}."]


def _value(place: PlaceSoil, told: tuple[SoilDay, ...], plot: Path | None) -> dict[str, Any]:
    from notifiers.pictures.facts import band_c

    picture = place.picture
    return {
        "lawn": None if place.lawn is None else place.lawn.key,
        "site": place.site.key,
        "today": picture.today,
        "limit_c": picture.limit_c,
        "trailing_mean_c": _mean_c(place),
        "source": place.site.source,
        "days": [
            {
                "day": soil.day,
                "mean_10cm_c": soil.mean_10cm_c,
                "sd_c": soil.sd_c,
                "range_80_c": band_c(soil),
                "gap_days": soil.gap_days,
                "provenance": soil.provenance,
            }
            for soil in told
        ],
        "picture": None if plot is None else str(plot),
    }
