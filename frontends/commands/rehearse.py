"""`swardtide rehearse`: the steps of the service over years of past weather, with a cast that answers."""

from __future__ import annotations

import json
import tempfile
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date, time
from pathlib import Path
from time import perf_counter
from typing import Annotated

import typer

from frontends.commands.rehearsing import mail_folder, open_home, progress_bar, remember, run_replay
from frontends.commands.talking import day_of
from frontends.wiring import rehearsal_jobs
from models.clock import instant_at
from models.facts.place import Site
from models.store.engine import Store
from models.store.people import load_clients
from notifiers.calendar import render_feed
from scheduler.entries.client_file import import_clients
from scheduler.entries.setup import begin_business
from scheduler.rehearsal.cast import PEST, Cast, manners_of
from scheduler.rehearsal.owner import Owner
from scheduler.rehearsal.people import invented_business, invented_cast
from scheduler.rehearsal.report import Report, report
from scheduler.rehearsal.stations import choose_stations, named_stations, site_of
from scheduler.weather.station_file import read_station_file, read_stations

app = typer.Typer(pretty_exceptions_enable=False, add_completion=False)
BEFORE_THE_CHAIN = time(4, 0)


@dataclass(frozen=True, slots=True)
class Rehearsal:
    """What was asked for, with every default filled in."""

    first: date
    last: date
    records: Path
    sites: tuple[Site, ...]
    lawns: int
    seed: int
    time_zone: str
    clients_csv: str | None = None

    @property
    def asked(self) -> Mapping[str, str | int]:
        """What must stay the same when a rehearsal goes on."""
        return {
            "from": self.first.isoformat(),
            "to": self.last.isoformat(),
            "stations": ",".join(site.key for site in self.sites),
            "lawns": self.lawns,
            "seed": self.seed,
            "time zone": self.time_zone,
            "clients": self.clients_csv or "invented",
        }


@app.command("rehearse")
def rehearse(
    first: Annotated[str, typer.Option("--from", help="First day, YYYY-MM-DD.")],
    last: Annotated[str, typer.Option("--to", help="Last day, YYYY-MM-DD.")],
    records: Annotated[Path, typer.Option(help="Directory of station files with stations.csv.")],
    clients: Annotated[Path | None, typer.Option(help="Clients as CSV; else an invented cast.")] = None,
    lawns: Annotated[int, typer.Option(min=1, max=2000, help="Lawns of the invented cast.")] = 30,
    seed: Annotated[int, typer.Option(help="Another seed, another cast.")] = 1,
    stations: Annotated[str | None, typer.Option(help="Stations by file stem: a,b.")] = None,
    time_zone: Annotated[str, typer.Option(help="Whose day it is.")] = "Europe/Dublin",
    home: Annotated[
        Path | None, typer.Option(help="Folder to leave records and mail in; run again it goes on.")
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="For machines.")] = False,
) -> None:
    """Run years of the service over past weather, with a cast that plays everybody."""
    days = _days(first, last)
    listed = read_stations(records / "stations.csv")
    names = None if stations is None else stations.split(",")
    chosen = choose_stations(listed, *days, lawns) if names is None else named_stations(listed, names, *days)
    asked = Rehearsal(
        first=days[0],
        last=days[1],
        records=records,
        sites=tuple(site_of(station) for station in chosen),
        lawns=lawns,
        seed=seed,
        time_zone=time_zone,
        clients_csv=None if clients is None else clients.read_text(encoding="utf-8-sig"),
    )
    began = perf_counter()
    with _home(home) as folder:
        found = rehearsed(asked, folder)
    seconds = perf_counter() - began
    typer.echo(json.dumps(found.for_machines(seconds)) if as_json else _for_people(found, seconds))


def rehearsed(asked: Rehearsal, home: Path) -> Report:
    """Run, or go on with, a rehearsal in its home, and report on it."""
    remember(home, asked.asked)
    with open_home(home) as store:
        begin_business(store, invented_business(asked.sites, asked.time_zone), asked.sites)
        cast = _cast(store, asked)
        with progress_bar("rehearsing") as progress:
            jobs = rehearsal_jobs(store, asked.records, mail_folder(home))
            run_replay(store, jobs, cast, (asked.first, asked.last), progress)
        return report(store, asked.first, asked.last, _measured_soil(asked))


def _cast(store: Store, asked: Rehearsal) -> Cast:
    """The invented people, or those of the client file, who are there from the first day."""
    if asked.clients_csv is None:
        arrivals = invented_cast(asked.sites, asked.lawns, asked.seed, asked.first, asked.time_zone)
        clients = [arrival.client.key for arrival in arrivals]
    else:
        arrivals, clients = (), _import(store, asked.clients_csv, asked)
    manners = manners_of(clients, asked.seed, asked.first)
    return Cast(store, render_feed, asked.seed, manners, Owner(store, render_feed, asked.seed), arrivals)


def _import(store: Store, text: str, asked: Rehearsal) -> list[str]:
    """The clients' keys; the file is taken in where none is known yet."""
    with store.read() as connection:
        known = load_clients(connection)
    if not known:
        now = instant_at(asked.first, BEFORE_THE_CHAIN, asked.time_zone)
        import_clients(store, text, PEST, asked.first, now)
        with store.read() as connection:
            known = load_clients(connection)
    return [client.key for client in known]


def _measured_soil(asked: Rehearsal) -> dict[str, Mapping[date, float]]:
    """Daily means at 10 cm by site; sites whose file has none are left out."""
    found = {
        site.key: read_station_file(asked.records / f"{site.source_ref}.csv").soil_10cm_c
        for site in asked.sites
    }
    return {site: means for site, means in found.items() if means}


@contextmanager
def _home(home: Path | None) -> Iterator[Path]:
    """The folder named, or a temporary one that is gone afterwards."""
    if home is not None:
        yield home
        return
    with tempfile.TemporaryDirectory(prefix="swardtide-") as folder:
        yield Path(folder)


def _days(first: str, last: str) -> tuple[date, date]:
    days = day_of(first, "--from"), day_of(last, "--to")
    if days[1] < days[0]:
        raise typer.BadParameter(f"{last} is before {first}", param_hint="--to")
    return days


def _for_people(found: Report, seconds: float) -> str:
    opened = sum(1 for line in found.windows if line.spans)
    errors = [
        abs((line.estimated - line.measured).days)
        for line in found.soil_opening
        if line.estimated is not None and line.measured is not None
    ]
    lines = [
        f"{found.first} to {found.last}, {found.lawns} lawns, {seconds:.0f} s",
        f"windows: {opened} of {len(found.windows)} opened",
        f"treatments: {found.treatments}, {found.outside_window} of them outside a window",
        f"packs: {found.packs_bought} bought, {found.packs_used} used, {found.packs_wasted} wasted",
        *(f"messages, {kind}: {count}" for kind, count in sorted(found.messages.items())),
    ]
    if errors:
        mean = sum(errors) / len(errors)
        lines.append(f"soil opening: wrong by {mean:.1f} days in the mean of {len(errors)} springs")
    return "\n".join(lines)
