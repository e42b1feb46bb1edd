"""`swardtide`: the command line. Each command's code loads when the command is asked for."""

from __future__ import annotations

import sys
from collections.abc import Callable, Mapping
from importlib import import_module

import typer

from models.errors import BadSettings, NotFound, RefusedInput, SwardtideError

app = typer.Typer(
    name="swardtide",
    help="The season calendar of a lawn-treatment business. "
    "Exits 0, 1 (the work failed) or 2 (the words were wrong).",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
)

HERE = "frontends.commands"
WRONG_WORDS = (RefusedInput, NotFound, BadSettings)

# Name: (module, its command within the module or "" where the module is the command, what it does).
COMMANDS: Mapping[str, tuple[str, str, str]] = {
    "demo": ("demo", "", "An invented business, one season replayed, then served."),
    "run": ("run", "", "The service: timed steps, the season page, calendar feeds."),
    "step": ("step", "", "One step now, or all: weather, soil, windows, plan, stock, watering, post."),
    "rehearse": ("rehearse", "", "Years of steps over past weather."),
    "clients": ("clients", "", "Begin the business; import clients, list them, show calendar addresses."),
    "visits": ("visits", "", "Visits booked and owed."),
    "window": ("window", "", "Why a lawn's window is open or shut, back to the weather and its source."),
    "soil": ("soil", "", "A lawn's or a site's soil temperature in words, and as a picture."),
    "treated": ("told", "treated", "A lawn was treated."),
    "not-treated": ("told", "not-treated", "A lawn was not treated, and why."),
    "surveyed": ("told", "surveyed", "A lawn was surveyed."),
    "counted": ("told", "counted", "Grubs were counted."),
    "watered": ("told", "watered", "A client watered a lawn."),
    "probed": ("told", "probed", "A soil temperature was read with a probe at a lawn."),
    "refuse": ("told", "refuse", "A client will have nobody on a lawn on a day."),
    "leave": ("told", "leave", "A client leaves."),
    "delivered": ("told", "delivered", "Packs came from the supplier."),
    "dose": ("dose", "", "Packs, water and minutes for an area, by hand."),
    "post": ("post", "", "Messages owed, doubtful, failed; owe one again."),
    "checkup": ("checkup", "", "Is this installation sound?"),
    "judge": ("judge", "", "How good the estimates are, against measured records."),
    "bench": ("bench", "", "What the estimates cost in time and memory."),
    "fit-soil": ("fit_soil", "", "Fit the soil estimate on measured records."),
    "fit-readings": ("fit_readings", "", "Fit what is believed of a lawn before any probe reading."),
}


def _pass_on(module: str, within: str, name: str) -> Callable[[typer.Context], None]:
    def command(ctx: typer.Context) -> None:
        inner: typer.Typer = import_module(f"{HERE}.{module}").app
        words = [within, *ctx.args] if within else ctx.args
        inner(args=words, prog_name="swardtide" if within else f"swardtide {name}")

    return command


for _name, (_module, _within, _words) in COMMANDS.items():
    app.command(
        _name,
        help=_words,
        add_help_option=False,
        # Whatever follows belongs to the inner command, which knows its options.
        context_settings={
            "allow_extra_args": True,
            "ignore_unknown_options": True,
            "allow_interspersed_args": False,
        },
    )(_pass_on(_module, _within, _name))


def run() -> int:
    """Run the command line. Gives 1 where the work failed, 2 where the words were wrong."""
    try:
        app()
    except SwardtideError as trouble:
        typer.echo(f"swardtide: {trouble}", err=True)
        return 2 if isinstance(trouble, WRONG_WORDS) else 1
    return 0


if __name__ == "__main__":
    sys.exit(run())
