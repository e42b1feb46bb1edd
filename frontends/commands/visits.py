"""`swardtide visits`: what is booked and owed."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Annotated

import typer

from frontends.commands.talking import AsJson, open_desk, say

if TYPE_CHECKING:
    from models.facts.work import Visit

app = typer.Typer(pretty_exceptions_enable=False, add_completion=False)


@app.command()
def visits(
    lawn: Annotated[str | None, typer.Option(help="Only this lawn's.")] = None,
    ended: Annotated[bool, typer.Option("--ended", help="Those that are over too.")] = False,
    as_json: AsJson = False,
) -> None:
    """List visits in order of days, each with the key that records go by."""
    from models.store.visits import load_visits

    with open_desk() as desk, desk.parts.store.read() as connection:
        found = load_visits(connection, open_only=not ended)
    listed = sorted((visit for visit in found if lawn in (None, visit.lawn_key)), key=_in_time)
    say([_line(visit) for visit in listed] or "No visit is booked or owed.", listed, as_json)


def _in_time(visit: Visit) -> tuple[date, str]:
    return visit.day or visit.allowed.first, visit.key


def _line(visit: Visit) -> str:
    when = visit.day.isoformat() if visit.day else f"{visit.allowed.first} to {visit.allowed.last}"
    packs = f", {visit.packs} packs" if visit.packs else ""
    return f"{when}  {visit.state}: {visit.kind}{packs}  {visit.key}\n    {visit.reason}"
