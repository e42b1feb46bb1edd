"""What commands share: opening the installation, the present, days, and answers for people or machines."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import asdict, dataclass, is_dataclass
from datetime import date, datetime, time
from typing import TYPE_CHECKING, Annotated, Any

import typer

from models.clock import local_day, now_utc

if TYPE_CHECKING:
    from frontends.wiring import Parts
    from models.facts.rules import Business

AsJson = Annotated[bool, typer.Option("--json", help="For machines.")]
OnDay = Annotated[str | None, typer.Option("--day", help="YYYY-MM-DD; else today.", metavar="DAY")]


@dataclass(frozen=True, slots=True)
class Desk:
    """An open installation with its business, and the one present that a command goes by."""

    parts: Parts
    business: Business
    now: datetime

    @property
    def today(self) -> date:
        return local_day(self.now, self.business.time_zone)

    def day(self, written: str | None) -> date:
        return self.today if written is None else day_of(written, "--day")


@contextmanager
def open_installation() -> Iterator[Parts]:
    """All real parts by the settings, closed afterwards."""
    from frontends.settings import read_settings
    from frontends.wiring import open_parts

    parts = open_parts(read_settings())
    try:
        yield parts
    finally:
        parts.store.close()


@contextmanager
def open_desk() -> Iterator[Desk]:
    """An installation whose business is set up; NotFound before."""
    from models.store.people import load_business

    with open_installation() as parts:
        with parts.store.read() as connection:
            business = load_business(connection)
        yield Desk(parts, business, now_utc())


def say(words: str | Sequence[str], value: object, as_json: bool) -> None:
    """The value as JSON for machines, or the words for people."""
    if as_json:
        typer.echo(json.dumps(plain(value), ensure_ascii=False))
        return
    typer.echo(words if isinstance(words, str) else "\n".join(words))


def plain(value: Any) -> Any:
    """A fact as JSON values: days and instants by ISO 8601."""
    if is_dataclass(value) and not isinstance(value, type):
        return plain(asdict(value))
    if isinstance(value, Mapping):
        return {str(name): plain(each) for name, each in value.items()}
    if isinstance(value, list | tuple | set | frozenset):
        return [plain(each) for each in value]
    if isinstance(value, date):
        return value.isoformat()
    return value if value is None or isinstance(value, bool | int | float | str) else str(value)


def day_of(written: str, option: str) -> date:
    """A day as people write it; the command line's own error where it is none."""
    try:
        return date.fromisoformat(written)
    except ValueError as error:
        raise typer.BadParameter(f"{written!r} is not a day: write YYYY-MM-DD", param_hint=option) from error


def time_of(written: str, option: str) -> time:
    """A time of day as people write it."""
    try:
        return time.fromisoformat(written)
    except ValueError as error:
        message = f"{written!r} is not a time of day: write HH:MM"
        raise typer.BadParameter(message, param_hint=option) from error


def position_of(written: str, option: str) -> tuple[float, float]:
    """Latitude and longitude written as "53.4,-6.2"."""
    try:
        latitude, longitude = (float(part) for part in written.split(","))
    except ValueError as error:
        message = f"{written!r} is not a position: write degrees as 53.4,-6.2"
        raise typer.BadParameter(message, param_hint=option) from error
    if not (-90 <= latitude <= 90 and -180 <= longitude <= 180):
        message = f"{written} is not on Earth: latitude -90 to 90, longitude -180 to 180"
        raise typer.BadParameter(message, param_hint=option)
    return latitude, longitude
