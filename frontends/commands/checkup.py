"""`swardtide checkup`: is this installation sound? Looks only, changes nothing."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

import typer

from frontends.commands.talking import AsJson, say
from models.clock import local_day, now_utc
from models.errors import NotFound, SwardtideError

if TYPE_CHECKING:
    from frontends.settings import Settings
    from models.facts.rules import Business
    from models.store.engine import Store

app = typer.Typer(pretty_exceptions_enable=False, add_completion=False)

STALE_DAYS = 3  # engineering choice: a gap that long makes the soil estimate wider
YEAR_WRITTEN = datetime(2026, 1, 1, tzinfo=UTC)  # a clock before this is wrong


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing looked at: sound or not, and what to do where it is not."""

    subject: str
    sound: bool
    words: str


@app.command()
def checkup(as_json: AsJson = False) -> None:
    """Look at settings, clock, database, business, weather and mail. Exits 1 where one is not sound."""
    findings = list(_look(now_utc()))
    sound = all(finding.sound for finding in findings)
    lines = [f"{'ok ' if one.sound else 'NO '} {one.subject}: {one.words}" for one in findings]
    say(lines, {"sound": sound, "findings": findings}, as_json)
    if not sound:
        raise typer.Exit(1)


def _look(now: datetime) -> Iterator[Finding]:
    from frontends.settings import read_settings
    from models.store.engine import open_store

    settings = read_settings()
    yield Finding("settings", True, f"home {settings.home}, mail to {settings.mail}")
    yield Finding("clock", now > YEAR_WRITTEN, f"{now:%Y-%m-%d %H:%M} UTC")
    yield _secret(settings)
    if not settings.database and not settings.home.joinpath("swardtide.sqlite3").exists():
        yield Finding("database", False, "there is none yet: `swardtide clients begin`")
        return
    store = open_store(settings.database_address)
    try:
        yield from _records(settings, store, now)
    finally:
        store.close()


def _secret(settings: Settings) -> Finding:
    made = settings.secret_key is not None or settings.secret_file.exists()
    return Finding("key of addresses", made, "is there" if made else "none yet: the first run makes it")


def _records(settings: Settings, store: Store, now: datetime) -> Iterator[Finding]:
    from models.store.soundness import database_trouble, schema_of

    trouble = database_trouble(store)
    yield Finding("database", trouble is None, trouble or "can be read")
    if trouble is not None:
        return
    schema = schema_of(store)
    newest = schema.present == schema.newest
    words = f"revision {schema.present}" + (
        "" if newest else f", {schema.newest} is the newest: start the service"
    )
    yield Finding("schema", newest, words)
    if newest:
        yield from _work(settings, store, now)


def _work(settings: Settings, store: Store, now: datetime) -> Iterator[Finding]:
    from models.store.people import load_business

    try:
        with store.read() as connection:
            business = load_business(connection)
    except NotFound as missing:
        yield Finding("business", False, str(missing))
        return
    yield Finding("business", True, f"{business.name}, {business.time_zone}")
    yield from _weather(store, business, now)
    yield _mail(settings)
    yield from _post(store)


def _weather(store: Store, business: Business, now: datetime) -> Iterator[Finding]:
    from models.store.people import load_sites
    from models.store.weather import last_weather_day

    today = local_day(now, business.time_zone)
    with store.read() as connection:
        last = [(site, last_weather_day(connection, site.key)) for site in load_sites(connection)]
    for site, day in last:
        sound = day is not None and today - day <= timedelta(days=STALE_DAYS)
        words = "no weather yet: `swardtide step weather`" if day is None else f"last day {day}"
        yield Finding(f"weather of {site.name}", sound, f"{words} ({site.source})")


def _mail(settings: Settings) -> Finding:
    from frontends.wiring import open_channel

    try:
        with open_channel(settings).opened():
            return Finding("mail", True, f"{settings.mail} can be reached")
    except SwardtideError as closed:
        return Finding("mail", False, str(closed))


def _post(store: Store) -> Iterator[Finding]:
    from models.facts.post import MessageState
    from models.store.post import load_messages

    with store.read() as connection:
        for state in (MessageState.FAILED, MessageState.DOUBTFUL):
            many = len(load_messages(connection, (state,)))
            words = f"{many}: see `swardtide post {state}`" if many else "none"
            yield Finding(f"{state} messages", not many, words)
