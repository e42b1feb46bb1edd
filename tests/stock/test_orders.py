"""Orders against booked treatments: enough, in time, not twice, and no pack that would expire unused."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

from hypothesis import given
from hypothesis import strategies as st

from models.facts.rules import StockRules
from models.facts.season import Season, SeasonName, Span, Species
from models.facts.stock import Batch, PackOrder
from models.facts.work import Visit, VisitKind, VisitState
from scheduler.stock.needs import Need, needs
from scheduler.stock.orders import orders

TODAY = date(2024, 9, 2)
NOW = datetime(2024, 9, 2, 3, 30, tzinfo=UTC)
RULES = StockRules()  # 5 days to come, 2 days of margin, ordered 14 days ahead, packs keep 28 days
SPECIES = Species.S_FELTIAE


def a_need(day: date, packs: int, visit_key: str = "v") -> Need:
    return Need(day, visit_key, SPECIES, packs)


def placed(
    needed: list[Need],
    batches: list[Batch] | None = None,
    open_orders: list[PackOrder] | None = None,
    known: frozenset[str] = frozenset(),
    today: date = TODAY,
) -> tuple[PackOrder, ...]:
    return orders(needed, batches or [], open_orders or [], known, RULES, today, NOW)


def test_one_order_for_the_treatments_whose_packs_keep() -> None:
    needed = [a_need(date(2024, 9, 16), 2), a_need(date(2024, 9, 20), 3), a_need(date(2024, 10, 10), 1)]
    assert placed(needed) == (
        PackOrder(
            key="S. feltiae/2024-09-16/1",
            species=SPECIES,
            packs=6,
            order_by=date(2024, 9, 9),
            needed_by=date(2024, 9, 16),
            reason="3 booked treatment(s) from 16 September to 10 October lack 6 pack(s): "
            "order by 9 September.",
            placed_at=NOW,
        ),
    )


def test_a_treatment_after_best_before_is_left_to_a_later_order() -> None:
    # Packs come on 14 September at the latest and keep 28 days, to 12 October, less 2 days of margin.
    needed = [a_need(date(2024, 9, 16), 2), a_need(date(2024, 10, 11), 5)]
    assert [(order.packs, order.needed_by) for order in placed(needed)] == [(2, date(2024, 9, 16))]


def test_nothing_is_ordered_before_its_time() -> None:
    assert placed([a_need(date(2024, 9, 17), 2)]) == ()
    assert len(placed([a_need(date(2024, 9, 16), 2)])) == 1


def test_a_deadline_that_is_past_is_ordered_today_and_said() -> None:
    (order,) = placed([a_need(date(2024, 9, 8), 1)])
    assert (order.order_by, order.reason) == (
        TODAY,
        "1 booked treatment(s) on 8 September lack 1 pack(s): order today; the day to order was 1 September.",
    )


def test_packs_that_may_come_too_late_are_said_to() -> None:
    (order,) = placed([a_need(date(2024, 9, 4), 1)])
    assert order.reason.endswith(
        "order today; the day to order was 28 August, and packs may come only on 7 September."
    )


def test_packs_in_the_fridge_and_on_order_are_not_ordered_again() -> None:
    fridge = [Batch("b", "o", SPECIES, 4, 1, date(2024, 8, 30), date(2024, 9, 20))]
    coming = [
        PackOrder("o2", SPECIES, 2, date(2024, 9, 2), date(2024, 9, 9), "", NOW),
    ]
    needed = [a_need(date(2024, 9, 10), 2), a_need(date(2024, 9, 12), 2)]
    assert [(order.packs, order.needed_by) for order in placed(needed, fridge, coming)] == [
        (1, date(2024, 9, 12))
    ]


def test_a_pack_counts_only_to_its_best_before() -> None:
    fridge = [Batch("b", "o", SPECIES, 4, 4, date(2024, 8, 20), date(2024, 9, 11))]
    needed = [a_need(date(2024, 9, 11), 2), a_need(date(2024, 9, 12), 2)]
    assert [(order.packs, order.needed_by) for order in placed(needed, fridge)] == [(2, date(2024, 9, 12))]


def test_a_second_order_for_the_same_day_has_its_own_key() -> None:
    known = frozenset({"S. feltiae/2024-09-16/1"})
    (order,) = placed([a_need(date(2024, 9, 16), 2)], known=known)
    assert order.key == "S. feltiae/2024-09-16/2"


def test_what_comes_late_anyway_is_not_ordered_twice() -> None:
    needed = [a_need(date(2024, 9, 4), 1)]
    first = placed(needed)
    assert placed(needed, open_orders=list(first), today=TODAY + timedelta(days=1)) == ()


needs_ahead = st.lists(
    st.builds(
        lambda number, ahead, packs: a_need(TODAY + timedelta(days=ahead), packs, f"v{number}"),
        st.integers(0, 99),
        st.integers(0, 60),
        st.integers(1, 6),
    ),
    max_size=12,
).map(lambda needed: sorted(needed, key=lambda need: (need.day, need.visit_key)))

fridges = st.lists(
    st.builds(
        lambda number, left, keeps: Batch(
            f"b{number}", "o", SPECIES, 9, left, TODAY, TODAY + timedelta(days=keeps)
        ),
        st.integers(0, 99),
        st.integers(0, 9),
        st.integers(0, 40),
    ),
    max_size=4,
)


@given(needs_ahead, fridges)
def test_ordered_once_nothing_more_is_asked_for(needed: list[Need], fridge: list[Batch]) -> None:
    first = placed(needed, fridge)
    known = frozenset(order.key for order in first)
    assert placed(needed, fridge, list(first), known) == ()
    assert len(known) == len(first)


@given(needs_ahead, fridges)
def test_never_more_packs_than_treatments_lack(needed: list[Need], fridge: list[Batch]) -> None:
    ordered = placed(needed, fridge)
    assert sum(order.packs for order in ordered) <= sum(need.packs for need in needed)
    within = [need for need in needed if (need.day - TODAY).days <= RULES.order_horizon_days]
    good_now = sum(batch.left for batch in fridge)
    assert sum(order.packs for order in ordered) >= sum(need.packs for need in within) - good_now
    for order in ordered:
        assert TODAY <= order.order_by <= order.needed_by
        assert (order.needed_by - TODAY).days <= RULES.order_horizon_days


def a_visit(key: str, day: date | None, state: VisitState = VisitState.BOOKED) -> Visit:
    return Visit(
        key=key,
        programme_key="p",
        lawn_key="l",
        season=Season(2024, SeasonName.AUTUMN),
        kind=VisitKind.TREATMENT,
        allowed=Span(date(2024, 9, 1), date(2024, 10, 31)),
        minutes=36,
        packs=2,
        state=state,
        day=day,
        revision=2,
        reason="",
        changed_at=NOW,
    )


def test_only_booked_treatments_from_today_on_need_packs() -> None:
    tomorrow = TODAY + timedelta(days=1)
    visits = [
        a_visit("b", tomorrow),
        a_visit("a", tomorrow),
        a_visit("today", TODAY),
        a_visit("past", TODAY - timedelta(days=1)),
        a_visit("owed", None, VisitState.OWED),
        a_visit("done", tomorrow, VisitState.DONE),
        replace(a_visit("count", tomorrow), kind=VisitKind.COUNT, packs=0),
    ]
    assert needs(visits, {"p": SPECIES}, TODAY) == (
        Need(TODAY, "today", SPECIES, 2),
        Need(tomorrow, "a", SPECIES, 2),
        Need(tomorrow, "b", SPECIES, 2),
    )
