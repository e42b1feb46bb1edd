"""Packs go out first expired, first out, and never past their best before."""

from __future__ import annotations

from datetime import date, timedelta

from hypothesis import given
from hypothesis import strategies as st

from models.facts.season import Species
from models.facts.stock import Batch
from models.facts.work import PacksUsed
from scheduler.stock.allocate import Shortage, fefo

DAY = date(2024, 9, 16)


def a_batch(key: str, left: int, best_before: date, delivered_on: date = date(2024, 9, 1)) -> Batch:
    return Batch(key, f"order of {key}", Species.S_FELTIAE, 10, left, delivered_on, best_before)


def test_the_batch_that_expires_first_goes_out_first() -> None:
    batches = [
        a_batch("late", 5, date(2024, 10, 10)),
        a_batch("early", 2, date(2024, 9, 20)),
        a_batch("empty", 0, date(2024, 9, 17)),
    ]
    assert fefo(batches, 3, DAY) == (PacksUsed("early", 2), PacksUsed("late", 1))


def test_a_pack_is_good_on_its_last_day_and_not_after() -> None:
    last_day = [a_batch("last day", 1, DAY)]
    assert fefo(last_day, 1, DAY) == (PacksUsed("last day", 1),)
    assert fefo(last_day, 1, DAY + timedelta(days=1)) == Shortage(
        1,
        "17 September needs 1 pack(s); in date in the fridge: 0; past their best before: 1",
    )


def test_packs_that_have_not_come_are_not_there() -> None:
    tomorrow = [a_batch("tomorrow", 4, date(2024, 10, 10), delivered_on=DAY + timedelta(days=1))]
    assert fefo(tomorrow, 2, DAY) == Shortage(2, "16 September needs 2 pack(s); in date in the fridge: 0")


some_batches = st.lists(
    st.builds(
        lambda number, left, keeps: a_batch(f"b{number}", left, DAY + timedelta(days=keeps)),
        st.integers(0, 99),
        st.integers(0, 10),
        st.integers(-3, 20),
    ),
    max_size=6,
    unique_by=lambda batch: batch.key,
)


@given(some_batches, st.integers(1, 20))
def test_all_asked_for_or_a_shortage_and_nothing_expired(batches: list[Batch], packs: int) -> None:
    good = {batch.key: batch for batch in batches if batch.best_before >= DAY}
    there = sum(batch.left for batch in good.values())
    taken = fefo(batches, packs, DAY)
    if isinstance(taken, Shortage):
        assert taken.missing == packs - there > 0
        return
    assert sum(used.packs for used in taken) == packs
    assert all(0 < used.packs <= good[used.batch_key].left for used in taken)
    last_taken = max(good[used.batch_key].best_before for used in taken)
    used_up = {used.batch_key for used in taken if used.packs == good[used.batch_key].left}
    earlier = {key for key, batch in good.items() if batch.best_before < last_taken and batch.left}
    assert earlier <= used_up
