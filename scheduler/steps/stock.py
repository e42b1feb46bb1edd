"""The `stock` step: order the packs that booked treatments lack, in time for the supplier."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from models.clock import first_post, local_day
from models.facts.rules import Business
from models.facts.step import Outcome
from models.facts.stock import PackOrder
from models.store.engine import Store
from models.store.ledger import SEASON_BOOK, claim_revision, revision_of
from models.store.people import load_business
from models.store.post import enqueue
from models.store.programmes import load_programmes
from models.store.stock import add_order, load_batches, load_orders
from models.store.visits import load_visits
from scheduler.announcements import order_message
from scheduler.steps.again import again_if_stale
from scheduler.stock.needs import needs
from scheduler.stock.orders import orders


@dataclass(frozen=True, slots=True)
class Snapshot:
    revision: int
    business: Business
    to_place: tuple[PackOrder, ...]


class OrderStock:
    """Places orders as rows and tells the business. A need that falls away never takes an order back."""

    name = "stock"

    def __init__(self, store: Store) -> None:
        self.store = store

    def run(self, now: datetime) -> Outcome:
        return again_if_stale(lambda: self._once(now))

    def _once(self, now: datetime) -> Outcome:
        seen = self._look(now)
        if not seen.to_place:
            return Outcome(0)
        not_before = first_post(now, seen.business.time_zone)
        with self.store.write() as connection:
            claim_revision(connection, SEASON_BOOK, seen.revision)
            for order in seen.to_place:
                add_order(connection, order)
            enqueue(connection, [order_message(order, now, not_before) for order in seen.to_place])
        return Outcome(len(seen.to_place), tuple(_said(order) for order in seen.to_place))

    def _look(self, now: datetime) -> Snapshot:
        with self.store.read() as connection:
            revision = revision_of(connection, SEASON_BOOK)
            business = load_business(connection)
            today = local_day(now, business.time_zone)
            visits = load_visits(connection, open_only=True, day_from=today)
            species = {programme.key: programme.species for programme in load_programmes(connection)}
            needed = needs(visits, species, today)
            if not needed:
                return Snapshot(revision, business, ())
            batches = load_batches(connection, in_date_on=today)
            every = load_orders(connection, open_only=False)
        open_orders = [order for order in every if not order.delivered]
        known = {order.key for order in every}
        to_place = orders(needed, batches, open_orders, known, business.rules.stock, today, now)
        return Snapshot(revision, business, to_place)


def _said(order: PackOrder) -> str:
    return f"{order.packs} packs of {order.species} to be ordered: {order.reason}"
