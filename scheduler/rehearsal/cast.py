"""A seeded cast that plays owner, supplier and clients through the same entries as people.

Every decision is a pure function of the seed and a natural key, and of what the records say; told a
second time, the cast finds its acts done and does nothing.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta

from models.clock import local_day
from models.facts.place import ClientState, Lawn
from models.facts.season import Pest
from models.facts.step import Outcome, RenderFeed
from models.facts.work import Programme, ProgrammeState
from models.store.engine import Store
from models.store.people import load_business, load_clients, load_lawns
from models.store.programmes import load_programmes
from models.store.stock import load_orders
from models.store.visits import load_visits
from models.store.watering import load_watering_days, load_waterings
from models.store.work import load_refusals
from scheduler.entries.delivery import take_delivery
from scheduler.entries.join import join, start_programme
from scheduler.entries.leave import leave
from scheduler.entries.refuse_day import refuse_day
from scheduler.entries.watered import watered
from scheduler.rehearsal.chance import happens, uniform, whole
from scheduler.rehearsal.owner import Owner
from scheduler.rehearsal.people import Arrival

PEST = Pest.LEATHERJACKETS
ANSWERS, ANSWERS_THIS_TIME = 0.65, 0.85  # clients who ever say they watered, and how often these do
GOES_ON = 0.85  # lawns enrolled again after a programme
MONDAY = 0


@dataclass(frozen=True, slots=True)
class Manners:
    """Who among the clients does what. Nobody is named twice by chance: a run fixes them at its start."""

    refuses: str | None = None  # client who refuses the first day that is booked
    leaves: str | None = None
    leaves_on: date | None = None
    silent: frozenset[str] = frozenset()  # clients who never say that they watered


def manners_of(clients: Sequence[str], seed: int, first: date) -> Manners:
    """One client who refuses a day and another who leaves eight to thirteen months after `first`."""
    drawn = sorted(clients, key=lambda client: uniform(seed, "manners", client))
    leaves_on = first + timedelta(days=whole(240, 400, seed, "leaves"))
    return Manners(
        refuses=drawn[0] if drawn else None,
        leaves=drawn[1] if len(drawn) > 1 else None,
        leaves_on=leaves_on,
    )


@dataclass(frozen=True, slots=True)
class Cast:
    store: Store
    render_feed: RenderFeed
    seed: int
    manners: Manners
    owner: Owner
    arrivals: Sequence[Arrival] = ()
    name: str = field(default="cast", init=False)

    def run(self, now: datetime) -> Outcome:
        """Do what the people do at noon of that day."""
        with self.store.read() as connection:
            business = load_business(connection)
        today = local_day(now, business.time_zone)
        said = [
            *self._arrive(today, now),
            *self._supply(today, business.time_zone, business.rules.stock.keeps_days, now),
            *self.owner.attend(today, now),
            *self._water(today, now),
            *self._refuse(today, now),
            *self._leave(today, now),
            *self._go_on(today, now),
        ]
        return Outcome(len(said), tuple(said))

    def _arrive(self, today: date, now: datetime) -> Iterator[str]:
        for arrival in self.arrivals:
            if arrival.on == today and join(self.store, [arrival.client], arrival.lawns, PEST, today, now):
                yield f"{arrival.client.name} joined"

    def _supply(self, today: date, time_zone: str, keeps_days: int, now: datetime) -> Iterator[str]:
        """Packs come two to four days after they were asked for, before they are needed if that can be."""
        with self.store.read() as connection:
            orders = load_orders(connection, open_only=True)
        for order in orders:
            asked = local_day(order.placed_at, time_zone)
            comes = asked + timedelta(days=whole(2, 4, self.seed, "delivery", order.key))
            if today >= max(asked + timedelta(days=1), min(comes, order.needed_by - timedelta(days=1))):
                best_before = today + timedelta(days=keeps_days)
                take_delivery(self.store, order.key, order.packs, best_before, today, now)
                yield f"{order.packs} packs came"

    def _water(self, today: date, now: datetime) -> Iterator[str]:
        """Some who were asked this morning water and say so; the others forget."""
        with self.store.read() as connection:
            judged = load_watering_days(connection, today)
            asked = [day for day in judged if day.day == today and day.advice_mm > 0]
            if not asked:
                return
            told = {(given.lawn_key, given.day) for given in load_waterings(connection, today)}
            reachable = {client.key for client in load_clients(connection) if client.email is not None}
            lawns = {lawn.key: lawn for lawn in load_lawns(connection)}
        for day in asked:
            client = lawns[day.lawn_key].client_key
            again = (day.lawn_key, today) in told
            if client in reachable and not again and self._answers(client, day.lawn_key, today):
                watered(self.store, day.lawn_key, today, day.advice_mm, now)
                yield f"{lawns[day.lawn_key].name}: watered {day.advice_mm:.0f} mm"

    def _answers(self, client: str, lawn: str, today: date) -> bool:
        ever = happens(ANSWERS, self.seed, "answers", client) and client not in self.manners.silent
        return ever and happens(ANSWERS_THIS_TIME, self.seed, "answers", lawn, today)

    def _refuse(self, today: date, now: datetime) -> Iterator[str]:
        """One client will not have anyone on the first day that was booked; nobody refuses another."""
        if self.manners.refuses is None:
            return
        with self.store.read() as connection:
            if load_refusals(connection, date.min):
                return
            booked = load_visits(connection, open_only=True, day_from=today + timedelta(days=1))
            lawns = _lawns_of(load_lawns(connection), self.manners.refuses)
        days = [(visit.day, visit.lawn_key) for visit in booked if visit.day and visit.lawn_key in lawns]
        if days:
            day, lawn = min(days)
            refuse_day(self.store, lawn, day, now)
            yield f"{self.manners.refuses} refused {day}"

    def _leave(self, today: date, now: datetime) -> Iterator[str]:
        manners = self.manners
        if manners.leaves is None or manners.leaves_on is None or today != manners.leaves_on:
            return
        with self.store.read() as connection:
            active = {client.key for client in load_clients(connection) if client.state is ClientState.ACTIVE}
        if manners.leaves in active:
            leave(self.store, self.render_feed, manners.leaves, "The client sold the house.", now)
            yield f"{manners.leaves} left"

    def _go_on(self, today: date, now: datetime) -> Iterator[str]:
        """On Mondays the owner enrols lawns again whose programme has finished, where the client agrees."""
        if today.weekday() != MONDAY:
            return
        with self.store.read() as connection:
            programmes = load_programmes(connection, tuple(ProgrammeState))
            if not any(programme.state is ProgrammeState.FINISHED for programme in programmes):
                return
            active = {client.key for client in load_clients(connection) if client.state is ClientState.ACTIVE}
            lawns = load_lawns(connection)
        for lawn in lawns:
            last = _finished(programmes, lawn)
            if (
                last is not None
                and lawn.client_key in active
                and happens(GOES_ON, self.seed, "goes on", last)
            ):
                start_programme(self.store, lawn.key, PEST, today, now)
                yield f"{lawn.name}: enrolled again"


def _lawns_of(lawns: Sequence[Lawn], client: str) -> frozenset[str]:
    return frozenset(lawn.key for lawn in lawns if lawn.client_key == client)


def _finished(programmes: Sequence[Programme], lawn: Lawn) -> str | None:
    """The key of the lawn's last programme if that is finished and none follows it."""
    theirs = [programme for programme in programmes if programme.lawn_key == lawn.key]
    last = max(theirs, key=lambda programme: programme.starts_on, default=None)
    return last.key if last is not None and last.state is ProgrammeState.FINISHED else None
