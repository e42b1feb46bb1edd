"""`swardtide window LAWN`: why, in sentences, from the booking back to the weather and its source."""

from __future__ import annotations

from typing import Annotated

import typer

from frontends.commands.talking import AsJson, open_desk, say

app = typer.Typer(pretty_exceptions_enable=False, add_completion=False)


@app.command()
def window(
    lawn: Annotated[str, typer.Argument(help="A lawn's key: see `swardtide clients list`.")],
    as_json: AsJson = False,
) -> None:
    """Say why a lawn's window is open or shut and why its visit has the day it has."""
    from scheduler.entries.why import explain_lawn

    with open_desk() as desk:
        sentences = explain_lawn(desk.parts.store, lawn, desk.now)
    say(sentences, {"lawn": lawn, "sentences": sentences}, as_json)
