"""What the entries share: finding what is meant, and the one way in which changed visits are told."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import date, datetime

from models.clock import first_post, local_day
from models.errors import Fault, NotFound
from models.facts.place import Lawn
from models.facts.post import Message
from models.facts.rules import Business
from models.facts.step import RenderFeed
from models.facts.work import Programme, ProgrammeState, Visit, VisitKind, VisitState
from models.store.engine import Connection, Store
from models.store.feeds import refresh_feeds
from models.store.ledger import SEASON_BOOK, raise_revision
from models.store.people import load_business, load_lawns
from models.store.post import enqueue
from models.store.programmes import load_programmes
from models.store.visits import save_visits
from scheduler.announcements import visit_messages


@dataclass(frozen=True, slots=True)
class Desk:
    """An open transaction in which nobody else changes the season book, and whose day it is."""

    connection: Connection
    business: Business
    now: datetime

    @property
    def today(self) -> date:
        return local_day(self.now, self.business.time_zone)

    @property
    def not_before(self) -> datetime:
        return first_post(self.now, self.business.time_zone)


@contextmanager
def at_the_desk(store: Store, now: datetime) -> Iterator[Desk]:
    """One write. An error raised inside takes everything back."""
    with store.write() as connection:
        raise_revision(connection, SEASON_BOOK)  # first: it makes others wait, so what is read next holds
        yield Desk(connection, load_business(connection), now)


def find_lawn(connection: Connection, key: str) -> Lawn:
    found = next((lawn for lawn in load_lawns(connection) if lawn.key == key), None)
    if found is None:
        raise NotFound("lawn", key, "see `swardtide clients list`")
    return found


def find_programme(connection: Connection, key: str) -> Programme:
    programmes = load_programmes(connection, tuple(ProgrammeState))
    found = next((programme for programme in programmes if programme.key == key), None)
    if found is None:
        raise NotFound("programme", key, "see the season page")
    return found


def booking_faults(visit: Visit, kinds: Collection[VisitKind], day: date, desk: Desk) -> list[Fault]:
    """What speaks against recording that `visit` was attended on `day`."""
    where, found = f"visit {visit.key}", []
    if visit.kind not in kinds:
        found.append(Fault(where, f"it is a {visit.kind}", f"give a {' or '.join(kinds)}"))
    if visit.state is not VisitState.BOOKED or visit.day is None:
        found.append(Fault(where, f"it is {visit.state}: {visit.reason}", "only a booked visit is recorded"))
    elif visit.day != day:
        found.append(Fault(where, f"{day} given, booked for {visit.day}", "give the day it is booked for"))
    if day > desk.today:
        found.append(Fault(where, f"{day} lies ahead of today, {desk.today}", "record it when it is done"))
    return found


def ended(visit: Visit, state: VisitState, reason: str, now: datetime) -> Visit:
    """The visit's next revision, in an ending; its day stays."""
    return replace(visit, state=state, revision=visit.revision + 1, reason=reason, changed_at=now)


def tell(
    desk: Desk,
    render_feed: RenderFeed,
    before: Sequence[Visit],
    after: Sequence[Visit],
    more: Sequence[Message] = (),
) -> None:
    """Save changed visits, owe the messages they cause and `more`, and bring the feeds up to date."""
    lawns = {lawn.key: lawn for lawn in load_lawns(desk.connection)}
    known = {visit.key: visit for visit in before}
    save_visits(desk.connection, after)
    messages = visit_messages(known, after, lawns, desk.now, desk.not_before)
    enqueue(desk.connection, [*messages, *more])
    clients = {lawns[visit.lawn_key].client_key for visit in after}
    refresh_feeds(desk.connection, clients, render_feed, desk.now, desk.today)
