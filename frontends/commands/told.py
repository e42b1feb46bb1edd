"""What people tell us, by the command line: each command hands on to its entry."""

from __future__ import annotations

from typing import Annotated

import typer

from frontends.commands.talking import AsJson, OnDay, day_of, open_desk, say, time_of
from models.errors import Fault, RefusedInput

app = typer.Typer(pretty_exceptions_enable=False, add_completion=False)

VisitKey = Annotated[str, typer.Argument(metavar="VISIT", help="A visit's key: see `swardtide visits`.")]
LawnKey = Annotated[str, typer.Argument(metavar="LAWN", help="A lawn's key: see `swardtide clients list`.")]


@app.callback()
def told() -> None:
    """What people tell us."""


@app.command()
def treated(
    visit: VisitKey,
    day: OnDay = None,
    probe_c: Annotated[float | None, typer.Option(help="The probe's reading at 10 cm [°C].")] = None,
    as_json: AsJson = False,
) -> None:
    """A lawn was treated, on the day it was booked for and inside its window."""
    from scheduler.entries.treatment import record_treatment

    with open_desk() as desk:
        parts = desk.parts
        done = record_treatment(parts.store, parts.render_feed, visit, desk.day(day), probe_c, desk.now)
    packs = sum(used.packs for used in done.packs)
    say(f"Recorded: {done.lawn_key} treated on {done.day} with {packs} packs.", done, as_json)


@app.command("not-treated")
def not_treated(
    visit: VisitKey,
    reason: Annotated[str, typer.Option(help="Why, in a few words the client will read.")],
    day: OnDay = None,
    as_json: AsJson = False,
) -> None:
    """A lawn was not treated; it is owed again, and booked again inside window and best before."""
    from scheduler.entries.treatment import not_treated as entry

    with open_desk() as desk:
        after = entry(desk.parts.store, desk.parts.render_feed, visit, desk.day(day), reason, desk.now)
    say(f"Recorded: {after.reason}. It is {after.state} again.", after, as_json)


@app.command()
def surveyed(visit: VisitKey, day: OnDay = None, as_json: AsJson = False) -> None:
    """A lawn was surveyed."""
    from scheduler.entries.survey import record_survey

    with open_desk() as desk:
        after = record_survey(desk.parts.store, desk.parts.render_feed, visit, desk.day(day), desk.now)
    say(f"Recorded: {after.reason}.", after, as_json)


@app.command()
def counted(
    visit: VisitKey,
    found: Annotated[str, typer.Option(help="Grubs in each sample, as 3,0,4,1.")],
    sample_area_m2: Annotated[float, typer.Option(help="Area of one sample [m²].")],
    method: Annotated[str, typer.Option(help="How they were counted.")],
    day: OnDay = None,
    as_json: AsJson = False,
) -> None:
    """Grubs were counted in samples of known area."""
    from scheduler.entries.count import record_count

    grubs = _numbers(found)
    with open_desk() as desk:
        parts, on = desk.parts, desk.day(day)
        count = record_count(
            parts.store, parts.render_feed, visit, on, method, sample_area_m2, grubs, desk.now
        )
    say(f"Recorded: {sum(count.found)} found, {count.density_per_m2:.0f} a m².", count, as_json)


@app.command()
def watered(
    lawn: LawnKey,
    depth_mm: Annotated[float, typer.Argument(metavar="MM", help="Depth given [mm]; litres over m².")],
    day: OnDay = None,
    as_json: AsJson = False,
) -> None:
    """A client watered a lawn."""
    from scheduler.entries.watered import watered as entry

    with open_desk() as desk:
        on = desk.day(day)
        entry(desk.parts.store, lawn, on, depth_mm, desk.now)
    value = {"lawn": lawn, "day": on, "depth_mm": depth_mm}
    say(f"Recorded: {depth_mm:g} mm on {lawn} on {on}.", value, as_json)


@app.command()
def probed(
    lawn: LawnKey,
    value_c: Annotated[float, typer.Argument(metavar="C", help="The probe's reading [°C].")],
    at: Annotated[str, typer.Option(metavar="HH:MM", help="Local time of the reading.")],
    day: OnDay = None,
    depth_cm: Annotated[float, typer.Option(help="Depth of the probe's tip [cm].")] = 10.0,
    in_sun: Annotated[bool, typer.Option("--in-sun", help="The spot lay in the sun.")] = False,
    as_json: AsJson = False,
) -> None:
    """A soil temperature was read with a probe; the lawn's own estimate learns from it."""
    from models.clock import instant_at
    from scheduler.entries.reading import record_reading

    hour = time_of(at, "--at")
    with open_desk() as desk:
        taken_at = instant_at(desk.day(day), hour, desk.business.time_zone)
        kept = record_reading(desk.parts.store, lawn, taken_at, depth_cm, value_c, in_sun, desk.now)
    words = f"Recorded: {value_c:g} °C at {depth_cm:g} cm in {lawn} on {kept.day}, {at}."
    say(words, kept, as_json)


@app.command()
def refuse(
    lawn: LawnKey,
    day: Annotated[str, typer.Argument(metavar="DAY", help="YYYY-MM-DD.")],
    as_json: AsJson = False,
) -> None:
    """A client will have nobody on a lawn on a day; the next plan moves what was booked."""
    from scheduler.entries.refuse_day import refuse_day

    on = day_of(day, "DAY")
    with open_desk() as desk:
        refuse_day(desk.parts.store, lawn, on, desk.now)
    say(f"Recorded: nobody on {lawn} on {on}.", {"lawn": lawn, "day": on}, as_json)


@app.command()
def leave(
    client: Annotated[str, typer.Argument(metavar="CLIENT", help="A client's key.")],
    reason: Annotated[str, typer.Option(help="Why, in a few words.")],
    as_json: AsJson = False,
) -> None:
    """A client leaves: programmes end, visits are called off."""
    from scheduler.entries.leave import leave as entry

    with open_desk() as desk:
        entry(desk.parts.store, desk.parts.render_feed, client, reason, desk.now)
    say(f"Recorded: {client} has left.", {"client": client, "reason": reason}, as_json)


@app.command()
def delivered(
    order: Annotated[str, typer.Argument(metavar="ORDER", help="The order's key, as in the order mail.")],
    packs: Annotated[int, typer.Argument(help="Packs that came.")],
    best_before: Annotated[str, typer.Option(help="The printed last day, YYYY-MM-DD.")],
    day: OnDay = None,
    as_json: AsJson = False,
) -> None:
    """Packs came from the supplier."""
    from scheduler.entries.delivery import take_delivery

    last = day_of(best_before, "--best-before")
    with open_desk() as desk:
        batch = take_delivery(desk.parts.store, order, packs, last, desk.day(day), desk.now)
    say(f"Recorded: {batch.packs} packs, best before {batch.best_before}.", batch, as_json)


def _numbers(found: str) -> list[int]:
    cells = [cell.strip() for cell in found.split(",")]
    faults = [
        Fault(f"sample {place}", repr(cell), "give a whole number of grubs")
        for place, cell in enumerate(cells, start=1)
        if not cell.isdecimal()
    ]
    if faults:
        raise RefusedInput("count", faults)
    return [int(cell) for cell in cells]
