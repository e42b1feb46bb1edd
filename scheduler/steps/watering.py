"""The `watering` step: each morning of the fortnight after a treatment, and advice where it is needed."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from models.clock import first_post, local_day
from models.facts.place import ClientState, Lawn
from models.facts.post import Message
from models.facts.rules import Business
from models.facts.step import Outcome
from models.facts.weather import SoilDay
from models.facts.work import Treatment, Watering, WateringDay
from models.store.engine import Connection, Store
from models.store.people import load_business, load_clients, load_lawns
from models.store.post import enqueue
from models.store.soil import load_soil_days
from models.store.watering import (
    load_watering_days,
    load_waterings,
    save_watering_days,
)
from models.store.work import load_treatments
from scheduler.announcements import water_message
from scheduler.watering.plan import fortnight, last_rain, plan_morning

DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class Morning:
    """All that this morning's accounts rest on; `treatments` are those not judged today yet."""

    business: Business
    today: date
    treatments: tuple[Treatment, ...]
    lawns: Mapping[str, Lawn]
    soil: Mapping[str, tuple[SoilDay, ...]]
    waterings: Mapping[str, Sequence[Watering]]


class AdviseWatering:
    """Judges each morning once; what a client was told stays as it was told."""

    name = "watering"

    def __init__(self, store: Store) -> None:
        self.store = store

    def run(self, now: datetime) -> Outcome:
        with self.store.read() as connection:
            morning = _morning(connection, now)
        if morning is None:
            return Outcome(0)
        days = [day for treatment in morning.treatments if (day := _judged(treatment, morning)) is not None]
        messages = list(_messages(days, morning, now))
        if days:
            with self.store.write() as connection:
                save_watering_days(connection, days)
                enqueue(connection, messages)
        return Outcome(len(days), (f"{len(messages)} clients are asked to water",) if messages else ())


def _morning(connection: Connection, now: datetime) -> Morning | None:
    business = load_business(connection)
    today = local_day(now, business.time_zone)
    rules = business.rules.watering
    recent = load_treatments(connection, today - rules.days * DAY)
    running = [one for one in recent if today in fortnight(one, rules)]
    if not running:
        return None
    judged = {day.visit_key for day in load_watering_days(connection, today)}
    todo = tuple(one for one in running if one.visit_key not in judged)
    if not todo:
        return None
    lawns = _lawns_of_clients(connection)
    todo = tuple(one for one in todo if one.lawn_key in lawns)
    first = min((one.day for one in todo), default=today)
    sites = sorted({lawns[one.lawn_key].site_key for one in todo})
    soil = load_soil_days(connection, sites, first, today - DAY)
    waterings = _by_lawn(load_waterings(connection, first))
    return Morning(business, today, todo, lawns, soil, waterings)


def _lawns_of_clients(connection: Connection) -> dict[str, Lawn]:
    """Lawns by key, without those of clients who left."""
    left = {client.key for client in load_clients(connection) if client.state is ClientState.LEFT}
    return {lawn.key: lawn for lawn in load_lawns(connection) if lawn.client_key not in left}


def _by_lawn(waterings: Iterable[Watering]) -> dict[str, list[Watering]]:
    found: dict[str, list[Watering]] = defaultdict(list)
    for watering in waterings:
        found[watering.lawn_key].append(watering)
    return found


def _judged(treatment: Treatment, morning: Morning) -> WateringDay | None:
    lawn = morning.lawns[treatment.lawn_key]
    return plan_morning(
        treatment,
        lawn,
        morning.soil[lawn.site_key],
        morning.waterings.get(lawn.key, ()),
        morning.today,
        morning.business.rules.watering,
    )


def _messages(days: Iterable[WateringDay], morning: Morning, now: datetime) -> Iterator[Message]:
    rules = morning.business.rules.watering
    not_before = first_post(now, morning.business.time_zone)
    treatments = {treatment.visit_key: treatment for treatment in morning.treatments}
    for day in days:
        if day.advice_mm <= 0:
            continue
        treatment, lawn = treatments[day.visit_key], morning.lawns[day.lawn_key]
        rain = last_rain(treatment, morning.soil[lawn.site_key], day.day, rules)
        yield water_message(day, lawn, treatment.day, rain, rules, now, not_before)
