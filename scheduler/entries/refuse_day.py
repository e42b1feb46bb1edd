"""A client will not have anyone on a lawn on a day."""

from __future__ import annotations

from datetime import date, datetime, timedelta

from models.errors import Fault, RefusedInput
from models.facts.work import Refusal
from models.store.engine import Store
from models.store.work import add_refusal, load_refusals
from scheduler.entries.desk import Desk, at_the_desk, find_lawn

FARTHEST = timedelta(days=400)  # engineering choice: a day further ahead was mistyped


def refuse_day(store: Store, lawn_key: str, day: date, now: datetime) -> Refusal:
    """Keep `day` free of visits to a lawn; the next plan moves what is booked there.

    Told twice, gives the first record. NotFound where there is no such lawn; RefusedInput where the day is
    past or further ahead than anything is planned.
    """
    with store.read() as connection:
        refusals = load_refusals(connection, day)
    first = next((said for said in refusals if (said.lawn_key, said.day) == (lawn_key, day)), None)
    if first is not None:
        return first
    with at_the_desk(store, now) as desk:
        lawn = find_lawn(desk.connection, lawn_key)
        if faults := _faults(desk, day):
            raise RefusedInput(f"day refused for {lawn.name}", faults)
        refusal = Refusal(lawn_key, day, now)
        add_refusal(desk.connection, refusal)
        return refusal


def _faults(desk: Desk, day: date) -> list[Fault]:
    if day < desk.today:
        return [Fault("day", f"{day} is past, today is {desk.today}", "name a day from today on")]
    if day > desk.today + FARTHEST:
        return [Fault("day", f"{day}", f"name a day to {desk.today + FARTHEST}")]
    return []
