"""An invented business, an invented client, and one message of each kind made by the announcing code."""

from __future__ import annotations

from datetime import UTC, date, datetime

from models.facts.place import Client, Lawn, Position, Site, Texture, Zone
from models.facts.post import Message
from models.facts.rules import Business, WateringRules
from models.facts.season import Pest, Season, SeasonName, Span, Species
from models.facts.stock import PackOrder
from models.facts.work import (
    PacksUsed,
    Programme,
    Treatment,
    Visit,
    VisitKind,
    VisitState,
    WateringDay,
)
from models.store import people
from models.store.engine import Store
from notifiers.mail import Reader
from scheduler.announcements import order_message, treatment_message, visit_messages, water_message

NOW = datetime(2026, 4, 9, 3, 30, tzinfo=UTC)
SEVEN = datetime(2026, 4, 9, 6, 0, tzinfo=UTC)
FIRST_ATTEMPT = datetime(2026, 4, 9, 6, 10, tzinfo=UTC)

BUSINESS = Business(
    name="Tarnwhistle Turf",
    email="post@tarnwhistle.example",
    phone="01632 960123",
    base=Position(54.1, -3.2),
    time_zone="Europe/London",
)
FERN = Client("fern", "Fern Okoro-Lindqvist", "fern@example.org", "01632 960777", "Europe/London")
NO_MAIL = Client("moss", "Moss Varga", None, "01632 960778", "Europe/London")
VALLEY = Site("valley", "Skerravane valley", Position(54.1, -3.2), 40.0, "station-file", "valley")
BACK = Lawn(
    key="fern-back",
    client_key="fern",
    name="Back lawn",
    position=Position(54.1, -3.2),
    site_key="valley",
    texture=Texture.LOAM,
    zones=(Zone("lawn", 150.0),),
    tap_litres_per_minute=9.0,
)
SPRING = Season(2026, SeasonName.SPRING)
PROGRAMME = Programme(
    key=Programme.key_for("fern-back", Pest.LEATHERJACKETS, date(2026, 3, 1)),
    lawn_key="fern-back",
    pest=Pest.LEATHERJACKETS,
    species=Species.S_FELTIAE,
    starts_on=date(2026, 3, 1),
    years=3,
)


def a_visit(
    kind: VisitKind = VisitKind.TREATMENT,
    *,
    day: date | None = date(2026, 4, 20),
    state: VisitState = VisitState.BOOKED,
    revision: int = 1,
    reason: str = "the soil is likely to hold 10 °C, and two lawns nearby are treated that day",
    changed_at: datetime = NOW,
) -> Visit:
    return Visit(
        key=Visit.key_for(PROGRAMME.key, SPRING, kind),
        programme_key=PROGRAMME.key,
        lawn_key="fern-back",
        season=SPRING,
        kind=kind,
        allowed=Span(date(2026, 4, 15), date(2026, 5, 15)),
        minutes=44,
        packs=3 if kind is VisitKind.TREATMENT else 0,
        state=state,
        day=day,
        revision=revision,
        reason=reason,
        changed_at=changed_at,
    )


def visit_message(before: Visit | None, after: Visit) -> Message:
    known = {} if before is None else {before.key: before}
    (message,) = visit_messages(known, [after], {"fern-back": BACK}, NOW, SEVEN)
    return message


def watering_message(day: date = date(2026, 4, 9), lawn: Lawn = BACK, number: str = "") -> Message:
    minutes = None if lawn.tap_litres_per_minute is None else 930.0 / lawn.tap_litres_per_minute
    advised = WateringDay(
        visit_key=a_visit().key + number,
        lawn_key=lawn.key,
        day=day,
        rain_mm=0.4,
        turf_et_mm=2.1,
        watered_mm=0.0,
        deficit_mm=6.2,
        capacity_mm=8.5,
        advice_mm=6.2,
        advice_litres=930.0,
        advice_minutes=minutes,
        reason="6.2 mm short of 8.5 mm",
        weather_revision=1,
    )
    rained = (date(2026, 4, 5), 3.4)
    return water_message(advised, lawn, date(2026, 4, 2), rained, WateringRules(), NOW, SEVEN)


def treated_message() -> Message:
    treatment = Treatment(
        visit_key=a_visit().key,
        lawn_key="fern-back",
        day=date(2026, 4, 8),
        area_m2=150.0,
        dose_factor=2.0,
        packs=(PacksUsed("lot-1", 2), PacksUsed("lot-2", 1)),
        probe_c=10.8,
        wash_in_mm=6.0,
        recorded_at=NOW,
    )
    return treatment_message(treatment, a_visit(), BACK, WateringRules(), NOW, SEVEN)


def ordered_message() -> Message:
    order = PackOrder(
        key="S. feltiae/2026-04-20",
        species=Species.S_FELTIAE,
        packs=12,
        order_by=date(2026, 4, 13),
        needed_by=date(2026, 4, 20),
        reason="six treatments from 20 to 24 April need 12 packs more than the fridge holds",
        placed_at=NOW,
    )
    return order_message(order, NOW, SEVEN)


def one_of_each() -> dict[str, Message]:
    """By the name of their golden file."""
    booked = a_visit()
    moved = a_visit(
        day=date(2026, 4, 22), revision=2, reason="the window shut: 7-day mean 9.1 °C, needs 10 °C"
    )
    fell_through = a_visit(day=None, state=VisitState.OWED, revision=2, reason="the gate was locked")
    ended = a_visit(state=VisitState.CALLED_OFF, revision=2, reason="you asked us to stop")
    missed = a_visit(day=None, state=VisitState.MISSED, reason="the soil stayed below 10 °C")
    return {
        "visit-booked": visit_message(None, booked),
        "visit-booked-survey": visit_message(None, a_visit(VisitKind.SURVEY, reason="")),
        "visit-moved": visit_message(booked, moved),
        "visit-moved-no-day": visit_message(booked, fell_through),
        "visit-called-off": visit_message(booked, ended),
        "visit-called-off-missed": visit_message(None, missed),
        "treatment-done": treated_message(),
        "water-today": watering_message(),
        "order-packs": ordered_message(),
    }


def the_reader(message: Message) -> Reader:
    if message.recipient == "business":
        return Reader(BUSINESS.name, BUSINESS.email)
    return Reader(FERN.name, str(FERN.email), "https://tarnwhistle.example/feeds/invented-token.ics")


def move_in(store: Store) -> None:
    """The business and its clients into the records."""
    with store.write() as connection:
        people.save_business(connection, BUSINESS)
        people.save_sites(connection, [VALLEY])
        people.add_clients(connection, [FERN, NO_MAIL], [BACK])
