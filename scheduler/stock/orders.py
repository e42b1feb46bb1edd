"""What to order by which day: needs, less what is in the fridge and in date, less what is on order."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from models.facts.rules import StockRules
from models.facts.season import Species
from models.facts.stock import Batch, PackOrder
from models.units import day_words
from scheduler.stock.needs import Need


@dataclass(slots=True)
class _Supply:
    """Packs that can be used from `first` to `last`; `left` falls as needs are met."""

    first: date
    last: date
    left: int


def orders(
    needed: Sequence[Need],
    batches: Sequence[Batch],
    open_orders: Sequence[PackOrder],
    known_keys: Collection[str],
    rules: StockRules,
    today: date,
    now: datetime,
) -> tuple[PackOrder, ...]:
    """The orders to place today so that every booked treatment has its packs.

    `known_keys` are the keys of all orders ever placed. An order covers the treatments from its
    `needed_by` on whose packs keep, and is placed once that day lies within the horizon. With these
    orders among the open ones, a second call asks for nothing.
    """
    placed: list[PackOrder] = []
    for species in sorted({need.species for need in needed}):
        missing = _missing(
            [need for need in needed if need.species is species],
            [batch for batch in batches if batch.species is species],
            [order for order in open_orders if order.species is species],
            rules,
            today,
        )
        placed += _orders_of(species, missing, known_keys, rules, today, now)
    return tuple(placed)


def _missing(
    needed: Sequence[Need],
    batches: Sequence[Batch],
    open_orders: Sequence[PackOrder],
    rules: StockRules,
    today: date,
) -> list[Need]:
    """Needs, in order of day, with the packs that neither fridge nor open orders give them."""
    supplies = [_Supply(batch.delivered_on, batch.best_before, batch.left) for batch in batches]
    for order in open_orders:
        comes = order.order_by + timedelta(days=rules.lead_days)
        supplies.append(_Supply(comes, comes + timedelta(days=rules.keeps_days), order.packs))
    supplies.sort(key=lambda supply: (supply.last, supply.first))
    short = [(need, need.packs - _take(supplies, need, rules, today)) for need in needed]
    return [Need(need.day, need.visit_key, need.species, packs) for need, packs in short if packs]


def _take(supplies: Sequence[_Supply], need: Need, rules: StockRules, today: date) -> int:
    # What is on order and comes no later than a new order would is not ordered twice, even where
    # both come too late.
    soonest = max(need.day, today + timedelta(days=rules.lead_days))
    taken = 0
    for supply in supplies:
        if supply.first <= soonest and need.day <= supply.last:
            packs = min(supply.left, need.packs - taken)
            supply.left -= packs
            taken += packs
    return taken


def _orders_of(
    species: Species,
    missing: Sequence[Need],
    known_keys: Collection[str],
    rules: StockRules,
    today: date,
    now: datetime,
) -> list[PackOrder]:
    placed: list[PackOrder] = []
    while missing and (missing[0].day - today).days <= rules.order_horizon_days:
        order_by = max(_due(missing[0].day, rules), today)
        last = _last_covered(order_by, missing[0].day, rules)
        covered = [need for need in missing if need.day <= last]
        missing = missing[len(covered) :]
        placed.append(
            PackOrder(
                key=_new_key(species, covered[0].day, known_keys),
                species=species,
                packs=sum(need.packs for need in covered),
                order_by=order_by,
                needed_by=covered[0].day,
                reason=_reason(covered, rules, today),
                placed_at=now,
            )
        )
    return placed


def _due(needed_by: date, rules: StockRules) -> date:
    return needed_by - timedelta(days=rules.lead_days + rules.margin_days)


def _last_covered(order_by: date, needed_by: date, rules: StockRules) -> date:
    """The last day an order serves: the margin is left so that a visit may still be moved by it."""
    keeps = timedelta(days=rules.lead_days + rules.keeps_days - rules.margin_days)
    return max(needed_by, order_by + keeps)


def _new_key(species: Species, needed_by: date, known_keys: Collection[str]) -> str:
    ordinal = 1
    while (key := f"{species}/{needed_by}/{ordinal}") in known_keys:
        ordinal += 1
    return key


def _reason(covered: Sequence[Need], rules: StockRules, today: date) -> str:
    first, last = covered[0].day, covered[-1].day
    days = f"on {day_words(first)}" if first == last else f"from {day_words(first)} to {day_words(last)}"
    lacking = f"{len(covered)} booked treatment(s) {days} lack {sum(need.packs for need in covered)} pack(s)"
    return f"{lacking}: {_deadline(first, rules, today)}."


def _deadline(needed_by: date, rules: StockRules, today: date) -> str:
    due, comes = _due(needed_by, rules), today + timedelta(days=rules.lead_days)
    if due >= today:
        return f"order by {day_words(due)}"
    late = f"order today; the day to order was {day_words(due)}"
    return f"{late}, and packs may come only on {day_words(comes)}" if comes > needed_by else late
