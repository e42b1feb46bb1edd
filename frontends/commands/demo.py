"""`swardtide demo`: an invented business, one season replayed, told in plain words, then served."""

from __future__ import annotations

import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from pathlib import Path
from typing import Annotated

import typer

from frontends.commands.rehearsing import mail_folder, open_home, progress_bar, run_replay
from frontends.settings import Settings, make_secret
from frontends.wiring import build_jobs, calendar_address
from models.clock import instant_at, now_utc, shifted
from models.facts.place import Client, ClientState
from models.facts.step import Job
from models.store.engine import Store
from models.store.ledger import read_mark
from models.store.people import load_clients
from notifiers.calendar import render_feed
from notifiers.maildrop import Maildrop
from scheduler.entries.client_file import import_clients
from scheduler.entries.setup import begin_business
from scheduler.rehearsal import skerravane
from scheduler.rehearsal.cast import PEST, Cast
from scheduler.rehearsal.invented_weather import write_station_files
from scheduler.rehearsal.owner import Owner
from scheduler.rehearsal.replay import Progress
from scheduler.rehearsal.stations import site_of
from scheduler.rehearsal.telling import tell
from scheduler.weather.station_file import StationFileSource, read_stations

app = typer.Typer(pretty_exceptions_enable=False, add_completion=False)

FIXTURES = Path(__file__).parents[2] / "fixtures" / "skerravane"
BEFORE_THE_CHAIN = time(4, 0)
REPLAY_ENDS = time(20, 0)
ONE_DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class Demo:
    """The invented business in its home, its records open."""

    home: Path
    store: Store
    settings: Settings
    key: bytes

    @property
    def weather(self) -> Path:
        return self.home / "weather"

    def calendar_of(self, client: Client) -> str:
        return calendar_address(self.settings.base_address, self.key, client)

    def jobs(self, worker: str) -> tuple[Job, ...]:
        source = StationFileSource(self.weather)
        mail = Maildrop(mail_folder(self.home))
        sources = {source.name: source}
        return build_jobs(
            self.store, sources, mail, render_feed, worker=worker, calendar_address=self.calendar_of
        )


@app.command("demo")
def demo(
    once: Annotated[bool, typer.Option("--once", help="End after the replay.")] = False,
    home: Annotated[Path | None, typer.Option(help="Folder to keep; else a temporary one.")] = None,
    port: Annotated[int, typer.Option(min=1, max=65535, help="Port on this machine to serve on.")] = 8420,
) -> None:
    """Set up an invented business, replay one season, tell what happened, and serve it on this machine."""
    with _home(home) as folder, open_home(folder) as store:
        # Given here, so that settings of a real installation on this machine do not reach into the demo.
        settings = Settings(
            home=folder, database="", secret_key=None, public_address="", web_host="127.0.0.1", web_port=port
        )
        shown = Demo(folder, store, settings, make_secret(settings))
        set_up(shown)
        with progress_bar("replaying August to May") as progress:
            replay(shown, progress)
        for line in story(store):
            typer.echo(line)
        if home is not None or not once:
            for line in addresses(shown):
                typer.echo(line)
        if not once:
            typer.echo("\nServing on this machine only. Ctrl-C ends it.")
            serve_on(shown)


def set_up(shown: Demo) -> None:
    """Invented weather, the business and its sites; done again, nothing changes."""
    days = skerravane.WEATHER_FIRST, skerravane.WEATHER_LAST
    write_station_files(shown.weather, skerravane.SITES, *days, skerravane.SEED, skerravane.SPELLS)
    sites = [site_of(listed) for listed in read_stations(shown.weather / "stations.csv")]
    begin_business(shown.store, skerravane.BUSINESS, sites)


def replay(shown: Demo, progress: Progress | None) -> None:
    """The season from August to May, with the clients who come while it runs."""
    jobs, cast = shown.jobs("rehearsal"), _cast(shown.store)
    days = (skerravane.LAST - skerravane.FIRST).days + 1
    whole = None if progress is None else _out_of(progress, days)
    for file, day in skerravane.COMERS:
        run_replay(shown.store, jobs, cast, (skerravane.FIRST, day - ONE_DAY), whole)
        _take_in(shown.store, file, day)
    run_replay(shown.store, jobs, cast, (skerravane.FIRST, skerravane.LAST), whole)


def story(store: Store) -> Iterator[str]:
    """What happened, in plain words."""
    yield f"{skerravane.BUSINESS.name}, {skerravane.FIRST} to {skerravane.LAST}. Everything here is invented."
    for heading, sentences in tell(store):
        yield f"\n{heading}"
        yield from (f"  {sentence}" for sentence in sentences)


def addresses(shown: Demo) -> Iterator[str]:
    """What to open."""
    with shown.store.read() as connection:
        clients = load_clients(connection)
    client = next(client for client in clients if client.state is ClientState.ACTIVE)
    yield "\nOpen"
    yield f"  the season       {shown.settings.base_address}/"
    yield f"  one calendar     {shown.calendar_of(client)}  ({client.name})"
    yield f"  the mail         {mail_folder(shown.home)}"


def serve_on(shown: Demo) -> None:
    """The service from the end of the replay on, until it is told to end."""
    from frontends.commands.run import set_up_log
    from frontends.web.app import create_app
    from frontends.web.serving import serve
    from scheduler.daemon import Daemon

    set_up_log()
    clock = shifted(resumes_at(shown.store) - now_utc())
    # The replay's own worker name, so that a claim it left behind is settled.
    daemon = Daemon(shown.store, shown.jobs("rehearsal"), skerravane.TIME_ZONE, clock)
    daemon.start()
    try:
        serve(
            create_app(shown.store, shown.key, clock, render_feed),
            shown.settings.web_host,
            shown.settings.web_port,
        )
    finally:
        daemon.stop()


def resumes_at(store: Store) -> datetime:
    """The end of the replay, or where an earlier serving of this home had come to."""
    from scheduler.daemon import DAILY

    with store.read() as connection:
        mark = read_mark(connection, DAILY)
    ended = instant_at(skerravane.LAST, REPLAY_ENDS, skerravane.TIME_ZONE)
    return ended if mark is None else max(ended, mark.instant)


def _cast(store: Store) -> Cast:
    """Nobody's gate is locked by chance here: the story says whose."""
    seed = skerravane.CAST_SEED
    owner = Owner(store, render_feed, seed, skerravane.LOCKED_ONCE, gate_locked=0.0)
    return Cast(store, render_feed, seed, skerravane.MANNERS, owner)


def _take_in(store: Store, file: str, day: date) -> None:
    """Import a client file unless its clients are known: a second run finds them there."""
    text = (FIXTURES / file).read_text(encoding="utf-8")
    first_client = text.splitlines()[1].partition(",")[0]
    with store.read() as connection:
        known = {client.key for client in load_clients(connection)}
    if first_client not in known:
        now = instant_at(day, BEFORE_THE_CHAIN, skerravane.TIME_ZONE)
        import_clients(store, text, PEST, day, now)


def _out_of(progress: Progress, days: int) -> Callable[[date, int, int], None]:
    return lambda day, done, _days: progress(day, done, days)


@contextmanager
def _home(home: Path | None) -> Iterator[Path]:
    if home is not None:
        yield home
        return
    with tempfile.TemporaryDirectory(prefix="swardtide-demo-") as folder:
        yield Path(folder)
