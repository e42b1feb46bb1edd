"""Colours and strokes of the pictures, by light, dark and print. Shapes tell too: no colour is alone."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Palette:
    """Of grounds: `paper`, `band`, `zone`. Of marks: the rest. `grid` only guides the eye."""

    paper: str
    band: str
    zone: str
    ink: str
    soft: str
    grid: str
    edge: str
    estimate: str
    limit: str
    window: str


LIGHT = Palette(
    paper="#ffffff",
    band="#d3dfe8",
    zone="#eef2e0",
    ink="#1e2720",
    soft="#4f5951",
    grid="#d9dbd0",
    edge="#6f8799",
    estimate="#16466b",
    limit="#9b2c17",
    window="#2f6334",
)
DARK = Palette(
    paper="#1c231d",
    band="#33454f",
    zone="#27321f",
    ink="#e6e9e0",
    soft="#b4bdb0",
    grid="#3b443c",
    edge="#86a0b0",
    estimate="#b5dcf5",
    limit="#f5a58f",
    window="#9bd199",
)
PRINT = Palette(
    paper="#ffffff",
    band="#dddddd",
    zone="#f4f4f4",
    ink="#000000",
    soft="#333333",
    grid="#cccccc",
    edge="#777777",
    estimate="#000000",
    limit="#000000",
    window="#000000",
)

SHAPES = (
    "text{font:150px system-ui,sans-serif;font-variant-numeric:tabular-nums}"
    ".title{font-weight:600}"
    "path,rect,circle{fill:none;stroke-width:12}"
    ".grid,.band{stroke-width:8}.today{stroke-width:10}"
    ".estimate{stroke-width:18;stroke-linejoin:round;stroke-linecap:round}"
    ".filled{stroke-dasharray:0 44}.forecast{stroke-dasharray:90 60}"
    ".limit{stroke-width:20;stroke-dasharray:130 50 30 50}"
    ".hatch,.range{stroke-width:20}"
    # On a desk the picture is wide, and a phone's letters would shout.
    "@media(min-width:500px){text{font-size:112px}}"
)


def style() -> str:
    """The style sheet of a picture."""
    return (
        f"{SHAPES}{colours(LIGHT)}"
        f"@media(prefers-color-scheme:dark){{{colours(DARK)}}}"
        f"@media print{{{colours(PRINT)}}}"
    )


def colours(palette: Palette) -> str:
    """Plain rules, without variables: readers of files other than browsers know no others."""
    return (
        f"text{{fill:{palette.ink}}}.soft{{fill:{palette.soft}}}"
        f".paper{{fill:{palette.paper}}}.zone{{fill:{palette.zone}}}"
        f".grid{{stroke:{palette.grid}}}.today{{stroke:{palette.soft}}}"
        f".band{{fill:{palette.band};stroke:{palette.edge}}}"
        f".estimate{{stroke:{palette.estimate}}}.limit{{stroke:{palette.limit}}}"
        f".open{{fill:url(#hatch)}}.hatch,.open,.range{{stroke:{palette.window}}}.chance{{fill:{palette.window}}}"
        f".visit{{stroke:{palette.ink}}}.done{{fill:{palette.ink}}}.booked{{fill:{palette.paper}}}"
    )
