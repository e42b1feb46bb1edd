"""An invented business with invented clients, set up through the same entries as people use."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

from models.facts.place import Client, Lawn, Position, Site, Texture, Zone
from models.facts.post import Message
from models.facts.rules import Business
from models.facts.season import Outlook, Pest, Season, Span, Species, Turn, Window
from models.facts.work import Visit, VisitState
from models.store.engine import Store
from models.store.post import load_messages
from models.store.visits import load_visits
from models.store.windows import save_outlooks, save_windows
from scheduler.entries.join import join
from scheduler.entries.setup import begin_business

VALE = Site("vale", "Vale", Position(53.4, -6.3), 30.0, "station-file", "vale")
TARNWHISTLE = Business(
    "Tarnwhistle Turf", "office@tarnwhistle.example", "000", Position(53.4, -6.3), "Europe/Dublin"
)
PEST = Pest.LEATHERJACKETS


def morning(day: date) -> datetime:
    return datetime(day.year, day.month, day.day, 3, 30, tzinfo=UTC)


def key(number: int = 1) -> str:
    return f"client-{number:03}/lawn"


def begin(store: Store, lawns: int, starts_on: date) -> None:
    """A business whose clients all join on the same day, within 4 km of each other."""
    begin_business(store, TARNWHISTLE, [VALE])
    clients, places = [], []
    for number in range(1, lawns + 1):
        client = f"client-{number:03}"
        clients.append(Client(client, f"Invented {number}", f"{client}@example.com", None, "Europe/Dublin"))
        position = Position(53.4 + number % 10 * 0.004, -6.3 + number // 10 * 0.004)
        zones = (Zone("front", 150.0),)
        places.append(
            Lawn(f"{client}/lawn", client, "Front lawn", position, "vale", Texture.LOAM, zones, 12.0)
        )
    join(store, clients, places, PEST, starts_on, morning(starts_on))


def likely(store: Store, season: Season, span: Span, chance: float) -> None:
    """The likely dates of a season, the same for each of its days."""
    chances = tuple((day, chance) for day in span.days())
    outlook = Outlook("vale", Texture.LOAM, PEST, season, chances, 20, "made up for a test")
    with store.write() as connection:
        save_outlooks(connection, [outlook])


def judged(store: Store, season: Season, day: date, *, is_open: bool, lawns: int = 1) -> None:
    """The windows of the first lawns as decided to `day`, open or shut for a week."""
    reason = "open since a week: soil warm" if is_open else "shut since a week: soil at 9.1 °C"
    turns = (Turn(day - timedelta(days=7), is_open, reason),)
    windows = [
        Window(key(number), PEST, Species.S_FELTIAE, season, turns, day, reason)
        for number in range(1, lawns + 1)
    ]
    with store.write() as connection:
        save_windows(connection, windows)


def visits(store: Store) -> dict[str, Visit]:
    with store.read() as connection:
        return {visit.key: visit for visit in load_visits(connection)}


def booked(store: Store) -> dict[str, date | None]:
    return {key: v.day for key, v in visits(store).items() if v.state is VisitState.BOOKED}


def messages(store: Store) -> list[Message]:
    with store.read() as connection:
        return [kept.message for kept in load_messages(connection)]
