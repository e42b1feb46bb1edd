"""Two people tell the same thing at the same moment."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta
from threading import Barrier
from typing import TypeVar

from models.facts.work import Treatment
from models.store.engine import Store
from scheduler.entries.treatment import record_treatment
from scheduler.steps.stock import OrderStock
from tests.entries.scene import NOW, TODAY, TREATMENT, plain_feed, records, set_up
from tests.entries.test_stock_comes import AHEAD, MORNING

TELLERS = 4
T = TypeVar("T")


def at_once(act: Callable[[int], T]) -> list[T]:
    """What `act` gives to each of some threads that begin together."""
    start = Barrier(TELLERS)

    def begin(teller: int) -> T:
        start.wait()
        return act(teller)

    with ThreadPoolExecutor(TELLERS) as pool:
        return list(pool.map(begin, range(TELLERS)))


def test_one_treatment_is_kept_and_its_packs_are_taken_once(store: Store) -> None:
    set_up(store)

    def tell(teller: int) -> Treatment:
        now = NOW + timedelta(seconds=teller)
        return record_treatment(store, plain_feed, TREATMENT.key, TODAY, 12.0, now)

    kept = at_once(tell)
    after = records(store)
    assert after.treatments == (kept[0],)
    assert set(kept) == {kept[0]}
    assert after.packs_left == {"expired": 4, "early": 0, "late": 2}
    assert len(after.messages) == 1


def test_steps_at_once_order_once(store: Store) -> None:
    set_up(store, visits=(AHEAD,), batches=())
    outcomes = at_once(lambda _: OrderStock(store).run(MORNING))
    assert sorted(outcome.changed for outcome in outcomes) == [0, 0, 0, 1]
    assert len(records(store).messages) == 1
