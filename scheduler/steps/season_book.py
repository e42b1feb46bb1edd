"""The season book as the `plan` step reads it: one snapshot of all that a plan rests on."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Protocol, TypeVar

from models.clock import local_day
from models.facts.place import ClientState, Lawn
from models.facts.rules import Business
from models.facts.work import (
    GrubCount,
    Programme,
    ProgrammeState,
    Treatment,
    Visit,
    VisitKind,
    VisitState,
)
from models.store.engine import Connection
from models.store.ledger import SEASON_BOOK, revision_of
from models.store.people import load_business, load_clients, load_lawns
from models.store.programmes import load_programmes
from models.store.visits import last_days, load_running_visits
from models.store.windows import load_outlooks, load_windows
from models.store.work import load_counts, load_refusals, load_treatments
from scheduler.booking.requests import SeasonFacts, due_visits

TREATMENTS_DAYS = 120  # a follow-up check is owed long before a treatment is that old
COUNTS_DAYS = 200  # a late-winter count decides on its spring long before it is that old


class OfALawn(Protocol):
    @property
    def lawn_key(self) -> str: ...


Record = TypeVar("Record", bound=OfALawn)


@dataclass(frozen=True, slots=True)
class Pages:
    """What changes only with the book's revision. `renewed`: lawns that were on a programme before;
    `active`: clients who are told of changes; `earlier_days`: the last day of each visit that had one
    and has none now."""

    revision: int
    programmes: tuple[Programme, ...]
    visits: tuple[Visit, ...]
    lawns: Mapping[str, Lawn]
    counts: Mapping[str, tuple[GrubCount, ...]]
    treatments: Mapping[str, tuple[Treatment, ...]]
    renewed: frozenset[str]
    active: frozenset[str]
    earlier_days: Mapping[str, date]


@dataclass(frozen=True, slots=True)
class SeasonBook:
    """The pages, and what else a morning's plan rests on."""

    pages: Pages
    business: Business
    today: date
    facts: SeasonFacts


def read_season_book(connection: Connection, now: datetime, kept: Pages | None = None) -> SeasonBook:
    """A constant number of queries, however many lawns there are; `kept` pages are not read again while
    the book's revision is theirs."""
    business = load_business(connection)
    today = local_day(now, business.time_zone)
    revision = revision_of(connection, SEASON_BOOK)
    pages = kept if kept is not None and kept.revision == revision else _pages(connection, revision, today)
    return SeasonBook(pages, business, today, _facts(connection, pages, today, business))


def _pages(connection: Connection, revision: int, today: date) -> Pages:
    programmes = load_programmes(connection)
    visits = load_running_visits(connection)
    put_back = [v.key for v in visits if v.state is VisitState.OWED and v.revision > 1]
    return Pages(
        revision=revision,
        programmes=programmes,
        visits=visits,
        lawns={lawn.key: lawn for lawn in load_lawns(connection)},
        counts=_by_lawn(load_counts(connection, today - timedelta(days=COUNTS_DAYS))),
        treatments=_by_lawn(load_treatments(connection, today - timedelta(days=TREATMENTS_DAYS))),
        renewed=_renewed(connection, programmes, visits),
        active=frozenset(c.key for c in load_clients(connection) if c.state is ClientState.ACTIVE),
        earlier_days=last_days(connection, put_back) if put_back else {},
    )


def _facts(connection: Connection, pages: Pages, today: date, business: Business) -> SeasonFacts:
    """With the windows and likely dates of the seasons whose treatments are being booked, no others."""
    due = due_visits(pages.visits, today, business.rules.booking)
    seasons = sorted({visit.season.key for visit in due if visit.kind is VisitKind.TREATMENT})
    return SeasonFacts(
        visits=pages.visits,
        programmes=pages.programmes,
        lawns=pages.lawns,
        refusals=load_refusals(connection, today),
        windows=load_windows(connection, seasons) if seasons else (),
        outlooks=load_outlooks(connection, seasons) if seasons else (),
    )


def _renewed(
    connection: Connection, programmes: tuple[Programme, ...], visits: tuple[Visit, ...]
) -> frozenset[str]:
    """Of the lawns whose programme has no visits yet, those that were on an earlier one."""
    begun = {visit.programme_key for visit in visits}
    new = {programme.key: programme for programme in programmes if programme.key not in begun}
    if not new:
        return frozenset()
    former = load_programmes(connection, tuple(ProgrammeState))
    return frozenset(programme.lawn_key for programme in former if programme.key not in new)


def _by_lawn(records: Iterable[Record]) -> Mapping[str, tuple[Record, ...]]:
    found: dict[str, list[Record]] = defaultdict(list)
    for record in records:
        found[record.lawn_key].append(record)
    return {lawn_key: tuple(of_lawn) for lawn_key, of_lawn in found.items()}
