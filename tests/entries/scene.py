"""An invented business in the middle of an invented autumn, for telling it things."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime

from models.facts.place import Client, Lawn, Position, Site, Texture, Zone
from models.facts.post import FeedFacts, Message
from models.facts.rules import Business
from models.facts.season import Pest, Season, SeasonName, Span, Species, Turn, Window
from models.facts.stock import Batch, PackOrder
from models.facts.work import (
    GrubCount,
    Programme,
    ProgrammeState,
    Refusal,
    Treatment,
    Visit,
    VisitKind,
    VisitState,
)
from models.store.engine import Store
from models.store.feeds import load_feed
from models.store.ledger import SEASON_BOOK, revision_of
from models.store.people import add_clients, load_clients, load_lawns, save_business, save_sites
from models.store.post import load_messages
from models.store.programmes import add_programme, load_programmes
from models.store.stock import add_batch, add_order, load_batches, load_orders
from models.store.visits import load_visits, save_visits
from models.store.windows import save_windows
from models.store.work import load_counts, load_refusals, load_treatments

TODAY = date(2024, 9, 16)
NOW = datetime(2024, 9, 16, 11, 0, tzinfo=UTC)
DECIDED = datetime(2024, 9, 2, 3, 30, tzinfo=UTC)
AUTUMN = Season(2024, SeasonName.AUTUMN)
FELTIAE = Species.S_FELTIAE

BUSINESS = Business(
    name="Tarnwhistle Turf",
    email="office@tarnwhistle.example",
    phone="+00 0000 000000",
    base=Position(53.4, -6.2),
    time_zone="Europe/Dublin",
)
SITE = Site("skerra", "Skerravane", Position(53.4, -6.2), 40.0, "station-file", "skerra")
CLIENT = Client("orla-sorrelby", "Orla Sorrelby", "orla@clients.example", None, "Europe/Dublin")
LAWN = Lawn(
    key="sorrelby-back",
    client_key=CLIENT.key,
    name="Sorrelby back lawn",
    position=Position(53.41, -6.21),
    site_key=SITE.key,
    texture=Texture.LOAM,
    zones=(Zone("front", 90.0), Zone("back", 60.0)),
    tap_litres_per_minute=15.0,
)
PROGRAMME = Programme(
    Programme.key_for(LAWN.key, Pest.LEATHERJACKETS, date(2024, 2, 1)),
    LAWN.key,
    Pest.LEATHERJACKETS,
    FELTIAE,
    date(2024, 2, 1),
    3,
)


def a_visit(kind: VisitKind, day: date | None = TODAY, *, packs: int = 0) -> Visit:
    return Visit(
        key=Visit.key_for(PROGRAMME.key, AUTUMN, kind),
        programme_key=PROGRAMME.key,
        lawn_key=LAWN.key,
        season=AUTUMN,
        kind=kind,
        allowed=Span(date(2024, 9, 1), date(2024, 10, 31)),
        minutes=36,
        packs=packs,
        state=VisitState.OWED if day is None else VisitState.BOOKED,
        day=day,
        revision=2,
        reason="Booked inside the window",
        changed_at=DECIDED,
    )


TREATMENT = a_visit(VisitKind.TREATMENT, packs=2)
SURVEY = a_visit(VisitKind.SURVEY)
COUNT = a_visit(VisitKind.COUNT)
OWED_FOLLOW_UP = a_visit(VisitKind.FOLLOW_UP, day=None)

OPEN = Window(
    lawn_key=LAWN.key,
    pest=Pest.LEATHERJACKETS,
    species=FELTIAE,
    season=AUTUMN,
    turns=(Turn(date(2024, 9, 1), True, "7-day mean is 15.2 °C"),),
    judged_to=TODAY,
    reason="7-day mean is 14.1 °C",
)
ORDER = PackOrder(
    "S. feltiae/2024-09-12/1", FELTIAE, 4, date(2024, 9, 5), date(2024, 9, 12), "", DECIDED, True
)
LATE_BATCH = Batch("late", ORDER.key, FELTIAE, 3, 3, date(2024, 9, 10), date(2024, 10, 8))
EARLY_BATCH = Batch("early", ORDER.key, FELTIAE, 4, 1, date(2024, 9, 2), date(2024, 9, 20))
EXPIRED_BATCH = Batch("expired", ORDER.key, FELTIAE, 4, 4, date(2024, 8, 2), date(2024, 9, 15))


def plain_feed(facts: FeedFacts) -> bytes:
    """A feed as a test can read it: each visit with its day, or why it is not."""
    lines = [
        f"{event.kind} {event.day} rev {event.revision}{' cancelled' * event.cancelled}{' done' * event.done}"
        for event in facts.events
    ]
    return "\n".join(lines).encode()


def set_up(
    store: Store,
    *,
    visits: tuple[Visit, ...] = (TREATMENT,),
    window: Window | None = OPEN,
    batches: tuple[Batch, ...] = (LATE_BATCH, EARLY_BATCH, EXPIRED_BATCH),
) -> None:
    with store.write() as connection:
        save_business(connection, BUSINESS)
        save_sites(connection, [SITE])
        add_clients(connection, [CLIENT], [LAWN])
        add_programme(connection, PROGRAMME)
        save_visits(connection, visits)
        save_windows(connection, [] if window is None else [window])
        add_order(connection, ORDER)
        for batch in batches:
            add_batch(connection, batch)


@dataclass(frozen=True, slots=True)
class Records:
    """All that entries and the stock step may change, to be compared whole."""

    revision: int
    clients: tuple[Client, ...]
    lawns: tuple[Lawn, ...]
    programmes: tuple[Programme, ...]
    visits: tuple[Visit, ...]
    treatments: tuple[Treatment, ...]
    counts: tuple[GrubCount, ...]
    refusals: tuple[Refusal, ...]
    orders: tuple[PackOrder, ...]
    packs_left: dict[str, int]
    messages: tuple[Message, ...]
    feed: str | None


def records(store: Store) -> Records:
    with store.read() as connection:
        feed = load_feed(connection, CLIENT.key)
        return Records(
            revision=revision_of(connection, SEASON_BOOK),
            clients=load_clients(connection),
            lawns=load_lawns(connection),
            programmes=load_programmes(connection, tuple(ProgrammeState)),
            visits=load_visits(connection),
            treatments=load_treatments(connection),
            counts=load_counts(connection),
            refusals=load_refusals(connection, date(2000, 1, 1)),
            orders=load_orders(connection, open_only=False),
            packs_left={batch.key: batch.left for batch in load_batches(connection)},
            messages=tuple(kept.message for kept in load_messages(connection)),
            feed=None if feed is None else feed.content.decode(),
        )
