"""`swardtide step NAME`: one step of the day now, or for a past day, or all in order."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from contextlib import nullcontext
from datetime import datetime
from typing import Annotated, Any

import typer

from frontends.commands.talking import AsJson, Desk, day_of, open_desk, say
from models.errors import Fault, RefusedInput
from models.facts.step import Job, Outcome

ALL = "all"
app = typer.Typer(pretty_exceptions_enable=False, add_completion=False)


@app.command()
def step(
    name: Annotated[str, typer.Argument(help="weather, soil, windows, plan, stock, watering, post or all.")],
    on: Annotated[str | None, typer.Option("--on", help="A past day, YYYY-MM-DD; else now.")] = None,
    as_json: AsJson = False,
) -> None:
    """Run one step, or all in the order of the day."""
    from frontends.wiring import one_off_worker

    with open_desk() as desk:
        jobs = _chosen(desk.parts.jobs(one_off_worker()), name)
        done = [(job.step.name, _run(job, _instant(desk, job, on))) for job in jobs]
    lines = [line for job_name, outcome in done for line in _lines(job_name, outcome)]
    say(
        lines,
        [{"step": job_name, "changed": one.changed, "said": one.said} for job_name, one in done],
        as_json,
    )


def _chosen(jobs: Sequence[Job], name: str) -> Sequence[Job]:
    chosen = [job for job in jobs if name in (ALL, job.step.name)]
    if not chosen:
        names = ", ".join([job.step.name for job in jobs] + [ALL])
        raise RefusedInput("step", [Fault("name", repr(name), f"give one of {names}")])
    return chosen


def _instant(desk: Desk, job: Job, on: str | None) -> datetime:
    """Now, or the job's own time on a day that is not ahead."""
    from models.clock import instant_at

    if on is None:
        return desk.now
    instant = instant_at(day_of(on, "--on"), job.at, desk.business.time_zone)
    if instant > desk.now:
        fault = Fault("--on", f"{on} {job.at:%H:%M} lies ahead", "give a day that has come, or leave it out")
        raise RefusedInput(f"step {job.step.name}", [fault])
    return instant


def _run(job: Job, now: datetime) -> Outcome:
    with _spinner(f"{job.step.name} …"):
        return job.step.run(now)


def _spinner(words: str) -> Any:
    """A sign of life on a terminal; nothing where output goes elsewhere."""
    if not sys.stderr.isatty():
        return nullcontext()
    from rich.console import Console

    return Console(stderr=True).status(words)


def _lines(name: str, outcome: Outcome) -> list[str]:
    changed = f"{outcome.changed} changed" if outcome.changed else "nothing new"
    return [f"{name}: {changed}", *(f"  {sentence}" for sentence in outcome.said)]
