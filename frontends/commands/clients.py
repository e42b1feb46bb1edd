"""`swardtide clients`: the business and its weather sites, clients in, lists, and calendar addresses."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from frontends.commands.talking import AsJson, day_of, open_desk, open_installation, position_of, say
from models.errors import Fault, NotFound, RefusedInput
from models.facts.place import Client, Lawn, Position, Site
from models.facts.rules import Business
from models.facts.season import Pest

if TYPE_CHECKING:
    from models.store.engine import Store

app = typer.Typer(no_args_is_help=True, pretty_exceptions_enable=False, add_completion=False)

SOURCES = ("station-file", "meteostat")
SiteName = Annotated[str, typer.Option("--site-name", help="What people call the place.")]
SitePosition = Annotated[
    str | None, typer.Option("--site-position", help="Degrees, as 53.4,-6.2; else the base.")
]
Elevation = Annotated[
    float,
    typer.Option("--elevation-m", help="Height above the sea [m]; at 0 no temperature is corrected for it."),
]
Source = Annotated[
    str, typer.Option("--source", help="Where its weather comes from: station-file or meteostat.")
]
SourceRef = Annotated[
    str,
    typer.Option("--source-ref", help="The file's name without .csv, or stations' ids; else the nearest."),
]


@app.callback()
def clients() -> None:
    """The business, its weather sites, its clients and their lawns."""


@app.command()
def begin(
    name: Annotated[str, typer.Option(help="The name of the business.")],
    email: Annotated[str, typer.Option(help="Its e-mail address: mail comes from it.")],
    base: Annotated[str, typer.Option(help="Where the van starts, in degrees, as 53.4,-6.2.")],
    time_zone: Annotated[str, typer.Option(help="Whose day it is, as Europe/Dublin.")],
    site: Annotated[str, typer.Option(help="Key of the first weather site.")],
    phone: Annotated[str, typer.Option(help="Its telephone number.")] = "",
    site_name: SiteName = "",
    site_position: SitePosition = None,
    elevation_m: Elevation = 0.0,
    source: Source = "meteostat",
    source_ref: SourceRef = "",
    as_json: AsJson = False,
) -> None:
    """Set up the business and its first weather site; told again, what changed is changed."""
    from scheduler.entries.setup import begin_business

    business = Business(name, email, phone, Position(*position_of(base, "--base")), time_zone)
    place = _site(site, site_name, site_position or base, elevation_m, source, source_ref)
    _check_email(email)
    with open_installation() as parts:
        before = _business(parts.store)
        kept = business if before is None else replace(business, rules=before.rules)
        begin_business(parts.store, kept, [place])
    say(f"{name} is set up, with weather of {place.name} from {source}.", [kept, place], as_json)


@app.command("site")
def add_site(
    key: Annotated[str, typer.Argument(help="A short key for the place.")],
    site_position: Annotated[str, typer.Option("--site-position", help="Degrees, as 53.4,-6.2.")],
    site_name: SiteName = "",
    elevation_m: Elevation = 0.0,
    source: Source = "meteostat",
    source_ref: SourceRef = "",
    as_json: AsJson = False,
) -> None:
    """Set up another weather site, or change one."""
    from scheduler.entries.setup import begin_business

    place = _site(key, site_name, site_position, elevation_m, source, source_ref)
    with open_desk() as desk:
        begin_business(desk.parts.store, desk.business, [place])
    say(f"Weather of {place.name} comes from {source}.", place, as_json)


@app.command("import")
def import_file(
    file: Annotated[Path, typer.Argument(help="A CSV file, one line a lawn.")],
    pest: Annotated[Pest, typer.Option(help="What the programmes are against.")] = Pest.LEATHERJACKETS,
    starts: Annotated[
        str | None, typer.Option(help="Day the programmes start, YYYY-MM-DD; else today.")
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Take in clients and lawns from a CSV file: all of them, or none and every fault by its line."""
    from scheduler.entries.client_file import import_clients

    text = _text_of(file)
    with open_desk() as desk:
        day = desk.today if starts is None else day_of(starts, "--starts")
        lawns = import_clients(desk.parts.store, text, pest, day, desk.now)
    say(f"{lawns} lawns taken in, on programmes against {pest} from {day}.", {"lawns": lawns}, as_json)


@app.command("list")
def list_all(as_json: AsJson = False) -> None:
    """List clients and their lawns by key."""
    from models.store.people import load_clients, load_lawns

    with open_desk() as desk, desk.parts.store.read() as connection:
        everyone, lawns = load_clients(connection), load_lawns(connection)
    of = {client.key: [lawn for lawn in lawns if lawn.client_key == client.key] for client in everyone}
    value = [{"client": client, "lawns": of[client.key]} for client in everyone]
    words = [line for client in everyone for line in _lines(client, of[client.key])]
    say(words or "No client has joined yet: `swardtide clients import FILE`.", value, as_json)


@app.command()
def address(
    key: Annotated[str, typer.Argument(help="The client's key.")],
    new: Annotated[bool, typer.Option("--new", help="Withdraw the present address first.")] = False,
    as_json: AsJson = False,
) -> None:
    """Show the secret address of a client's calendar."""
    from scheduler.entries.address import new_address

    with open_desk() as desk:
        store = desk.parts.store
        client = new_address(store, key) if new else _client(store, key)
        shown = desk.parts.calendar_address(client)
    say(shown, {"client": key, "address": shown, "version": client.token_version}, as_json)


def _business(store: Store) -> Business | None:
    from models.store.people import load_business

    try:
        with store.read() as connection:
            return load_business(connection)
    except NotFound:
        return None


def _client(store: Store, key: str) -> Client:
    from models.store.people import find_client

    with store.read() as connection:
        return find_client(connection, key)


def _site(key: str, name: str, position: str, elevation_m: float, source: str, source_ref: str) -> Site:
    if source not in SOURCES:
        raise RefusedInput(f"site {key}", [Fault("source", repr(source), f"choose {' or '.join(SOURCES)}")])
    place = Position(*position_of(position, "--site-position"))
    return Site(key, name or key, place, elevation_m, source, source_ref)


def _check_email(email: str) -> None:
    from email_validator import EmailNotValidError, validate_email

    try:
        validate_email(email, check_deliverability=False)
    except EmailNotValidError as trouble:
        raise RefusedInput("the business", [Fault("e-mail", repr(email), str(trouble))]) from trouble


def _text_of(file: Path) -> str:
    try:
        return file.read_text(encoding="utf-8")
    except FileNotFoundError as trouble:
        raise NotFound("client file", str(file), "check the path") from trouble
    except (OSError, UnicodeDecodeError) as trouble:
        raise RefusedInput(str(file), [Fault("file", str(trouble), "save it as CSV in UTF-8")]) from trouble


def _lines(client: Client, lawns: list[Lawn]) -> list[str]:
    reached = client.email or client.phone or "no e-mail, no telephone"
    own = [f"    {lawn.key}  {lawn.name}, {lawn.area_m2:g} m² on {lawn.texture}" for lawn in lawns]
    return [f"{client.key}  {client.name} ({client.state}), {reached}", *own]
