"""Deliveries, and the step that orders what booked treatments lack."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest

from models.errors import NotFound, RefusedInput
from models.facts.post import BUSINESS as TO_BUSINESS
from models.facts.post import Message, MessageKind
from models.facts.step import Outcome
from models.facts.stock import Batch, PackOrder
from models.facts.work import PacksUsed, VisitState
from models.store.engine import Store
from models.store.stock import add_order, load_batches, take_packs
from models.store.visits import save_visits
from scheduler.entries.delivery import take_delivery
from scheduler.steps.stock import OrderStock
from tests.entries.scene import DECIDED, FELTIAE, LATE_BATCH, NOW, TODAY, TREATMENT, records, set_up

MORNING = datetime(2024, 9, 16, 3, 30, tzinfo=UTC)  # 04:30 Irish summer time
NEXT_WEEK = TODAY + timedelta(days=10)
AHEAD = replace(TREATMENT, day=NEXT_WEEK)
ORDERED = PackOrder(
    key="S. feltiae/2024-09-26/1",
    species=FELTIAE,
    packs=2,
    order_by=date(2024, 9, 19),
    needed_by=NEXT_WEEK,
    reason="1 booked treatment(s) on 26 September lack 2 pack(s): order by 19 September.",
    placed_at=MORNING,
)


def test_the_step_orders_what_is_lacking_and_tells_the_business(store: Store) -> None:
    set_up(store, visits=(AHEAD,), batches=())
    before = records(store)
    said = f"2 packs of S. feltiae to be ordered: {ORDERED.reason}"
    assert OrderStock(store).run(MORNING) == Outcome(1, (said,))
    message = Message(
        key="order:S. feltiae/2024-09-26/1",
        kind=MessageKind.ORDER_PACKS,
        recipient=TO_BUSINESS,
        payload={
            "order": "S. feltiae/2024-09-26/1",
            "species": "S. feltiae",
            "packs": 2,
            "order_by": "2024-09-19",
            "needed_by": "2024-09-26",
            "reason": ORDERED.reason,
        },
        caused_at=MORNING,
        not_before=datetime(2024, 9, 16, 6, 0, tzinfo=UTC),
    )
    assert records(store) == replace(
        before,
        revision=before.revision + 1,
        orders=(*before.orders, ORDERED),
        messages=(message,),
    )


def test_the_step_run_again_changes_nothing(store: Store) -> None:
    set_up(store, visits=(AHEAD,), batches=())
    OrderStock(store).run(MORNING)
    once = records(store)
    assert OrderStock(store).run(MORNING) == Outcome(0)
    assert OrderStock(store).run(MORNING + timedelta(days=1)) == Outcome(0)
    assert records(store) == once


def test_packs_that_keep_are_enough(store: Store) -> None:
    set_up(store, visits=(AHEAD,), batches=(LATE_BATCH,))
    assert OrderStock(store).run(MORNING) == Outcome(0)


def test_a_need_that_falls_away_takes_no_order_back(store: Store) -> None:
    set_up(store, visits=(AHEAD,), batches=())
    OrderStock(store).run(MORNING)
    with store.write() as connection:
        save_visits(connection, [replace(AHEAD, state=VisitState.CALLED_OFF, revision=3)])
    ordered = records(store).orders
    assert OrderStock(store).run(MORNING + timedelta(days=1)) == Outcome(0)
    assert records(store).orders == ordered


OPEN_ORDER = PackOrder("S. feltiae/2024-09-20/1", FELTIAE, 5, TODAY, date(2024, 9, 20), "", DECIDED)
BATCH = Batch("S. feltiae/2024-09-20/1/batch", OPEN_ORDER.key, FELTIAE, 4, 4, TODAY, date(2024, 10, 14))


def with_open_order(store: Store) -> None:
    set_up(store, batches=())
    with store.write() as connection:
        add_order(connection, OPEN_ORDER)


def test_a_delivery_fills_the_fridge_and_closes_the_order_however_many_came(store: Store) -> None:
    with_open_order(store)
    before = records(store)
    assert take_delivery(store, OPEN_ORDER.key, 4, date(2024, 10, 14), TODAY, NOW) == BATCH
    assert records(store) == replace(
        before,
        revision=before.revision + 1,
        orders=(before.orders[0], replace(OPEN_ORDER, delivered=True)),
        packs_left={BATCH.key: 4},
    )


def test_a_delivery_told_twice_fills_it_once(store: Store) -> None:
    with_open_order(store)
    take_delivery(store, OPEN_ORDER.key, 4, date(2024, 10, 14), TODAY, NOW)
    once = records(store)
    assert take_delivery(store, OPEN_ORDER.key, 5, date(2024, 10, 20), TODAY, NOW) == BATCH
    assert records(store) == once


@pytest.mark.parametrize(
    ("packs", "best_before", "day", "trouble"),
    [
        (0, date(2024, 10, 14), TODAY, "packs: 0"),
        (4, date(2024, 9, 15), TODAY, "send expired packs back"),
        (4, date(2025, 10, 14), TODAY, "read the date again"),
        (4, date(2024, 10, 14), TODAY + timedelta(days=1), "lies ahead of today"),
    ],
)
def test_a_delivery_that_cannot_be_is_refused(
    store: Store, packs: int, best_before: date, day: date, trouble: str
) -> None:
    with_open_order(store)
    before = records(store)
    with pytest.raises(RefusedInput, match=trouble):
        take_delivery(store, OPEN_ORDER.key, packs, best_before, day, NOW)
    assert records(store) == before


def test_a_delivery_of_no_known_order_is_not_found(store: Store) -> None:
    with_open_order(store)
    with pytest.raises(NotFound, match="order 'nowhere' is not known"):
        take_delivery(store, "nowhere", 1, date(2024, 10, 14), TODAY, NOW)


def test_no_more_packs_leave_the_fridge_than_are_in_it(store: Store) -> None:
    set_up(store, batches=(LATE_BATCH,))
    taking_all = [PacksUsed("late", 2), PacksUsed("late", 2)]
    with pytest.raises(RefusedInput, match="it has not that many left"), store.write() as connection:
        take_packs(connection, taking_all)
    with store.read() as connection:
        assert load_batches(connection) == (LATE_BATCH,)
        assert load_batches(connection, in_date_on=date(2024, 10, 8)) == (LATE_BATCH,)
        assert load_batches(connection, in_date_on=date(2024, 10, 9)) == ()
