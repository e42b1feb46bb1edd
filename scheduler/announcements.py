"""Changes and advice to messages: kind, recipient, key and facts. Words and layout belong to the templates.

Payloads hold JSON values only: days as ISO text, numbers with the unit in the name, null where unknown.

Every payload to a client has `client`, `lawn` (keys), `lawn_name`, `area_m2`, `tap_litres_per_minute`
(number or null). Beyond these, by kind:

visit-booked, visit-moved, visit-called-off: `visit` (key), `kind` (a `VisitKind` value), `season` (words,
  "autumn 2024"), `day` (the day now agreed; null where there is none), `from_day` (the day that held
  until now; null where none did), `minutes`, `packs` (0: no treatment), `revision`, `reason` (a sentence),
  `state` (a `VisitState` value: "booked"; of a visit moved without a new day "owed"; of one called off
  its ending).
    visit-booked: `day` set. `from_day` null.
    visit-moved: `from_day` set. `day` set, or null: the day fell through and a new one follows.
    visit-called-off: `day` null. `from_day` null where a treatment was missed before it had a day.
treatment-done: `visit`, `season`, `day`, `dose_factor`, `packs`, `probe_c` (null: not read), `wash_in_mm`,
  `wash_in_litres`, `wash_in_minutes` (null: no tap), `moist_from`, `moist_until` (first and last day of the
  fortnight), `moist_days`.
water-today: `visit`, `day`, `treated_on`, `fortnight_day` (1 is the day after the treatment), `moist_days`,
  `moist_until`, `advice_mm`, `advice_litres`, `advice_minutes` (null: no tap), `deficit_mm`, `capacity_mm`,
  `rain_mm`, `turf_et_mm`, `watered_mm` (those of the day before), `last_rain_on`, `last_rain_mm` (null:
  none since the treatment), `reason` (a sentence).
order-packs (to the business): `order` (key), `species`, `packs`, `order_by`, `needed_by`, `reason`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, datetime, timedelta

from models.facts.place import Lawn
from models.facts.post import BUSINESS, Message, MessageKind
from models.facts.rules import WateringRules
from models.facts.stock import PackOrder
from models.facts.work import Treatment, Visit, VisitKind, VisitState, WateringDay
from models.units import litres_for, minutes_at_tap

NO_DAYS: Mapping[str, date] = {}
ENDINGS = (VisitState.NOT_NEEDED, VisitState.MISSED, VisitState.CALLED_OFF)


def visit_messages(
    before: Mapping[str, Visit],
    after: Sequence[Visit],
    lawns: Mapping[str, Lawn],
    now: datetime,
    not_before: datetime,
    earlier_days: Mapping[str, date] = NO_DAYS,
) -> tuple[Message, ...]:
    """What the clients are owed for the changes from `before` (by visit key) to `after`.

    A first day is booked; another day, or none for now, is moved; an ending of a booked visit, and every
    missed treatment, is called off. `earlier_days`: the last day that a visit without a day once had;
    such a visit is moved when it is booked again. Nothing changed for the client: no message.
    """
    messages: list[Message] = []
    for visit in after:
        old = before.get(visit.key)
        held = old.day if old is not None and old.state is VisitState.BOOKED else None
        from_day = held or earlier_days.get(visit.key)
        if (kind := _what_changed(visit, held, from_day)) is not None and not _same_ending(old, visit):
            messages.append(_visit_message(kind, visit, from_day, lawns[visit.lawn_key], now, not_before))
    return tuple(messages)


def _what_changed(visit: Visit, held: date | None, from_day: date | None) -> MessageKind | None:
    if visit.state is VisitState.BOOKED:
        if visit.day == held:
            return None
        return MessageKind.VISIT_BOOKED if from_day is None else MessageKind.VISIT_MOVED
    if visit.state is VisitState.OWED:
        return None if held is None else MessageKind.VISIT_MOVED
    missed = visit.state is VisitState.MISSED and visit.kind is VisitKind.TREATMENT
    ended = visit.state in ENDINGS and held is not None
    return MessageKind.VISIT_CALLED_OFF if ended or missed else None


def _same_ending(old: Visit | None, visit: Visit) -> bool:
    return old is not None and old.state is visit.state and visit.state in ENDINGS


WHAT = {
    MessageKind.VISIT_BOOKED: "booked",
    MessageKind.VISIT_MOVED: "moved",
    MessageKind.VISIT_CALLED_OFF: "called-off",
}


def _visit_message(
    kind: MessageKind, visit: Visit, from_day: date | None, lawn: Lawn, now: datetime, not_before: datetime
) -> Message:
    key = f"visit:{visit.key}:rev{visit.revision}:{WHAT[kind]}"
    return Message(key, kind, lawn.client_key, visit_facts(visit, from_day, lawn), now, not_before)


def treatment_message(
    treatment: Treatment, visit: Visit, lawn: Lawn, rules: WateringRules, now: datetime, not_before: datetime
) -> Message:
    """The lawn was treated: what was done, and how long the turf is to be kept moist."""
    return Message(
        key=f"treatment:{treatment.visit_key}:done",
        kind=MessageKind.TREATMENT_DONE,
        recipient=lawn.client_key,
        payload=treatment_facts(treatment, visit, lawn, rules),
        caused_at=now,
        not_before=not_before,
    )


def water_message(
    watering_day: WateringDay,
    lawn: Lawn,
    treated_on: date,
    last_rain: tuple[date, float] | None,
    rules: WateringRules,
    now: datetime,
    not_before: datetime,
) -> Message:
    """The top soil asks for water today. `last_rain`: day and millimetres of the last rain that counted."""
    return Message(
        key=f"watering:{watering_day.visit_key}:{watering_day.day.isoformat()}",
        kind=MessageKind.WATER_TODAY,
        recipient=lawn.client_key,
        payload=water_facts(watering_day, lawn, treated_on, last_rain, rules),
        caused_at=now,
        not_before=not_before,
    )


def order_message(order: PackOrder, now: datetime, not_before: datetime) -> Message:
    """Packs are to be asked of the supplier. To the business."""
    return Message(
        f"order:{order.key}", MessageKind.ORDER_PACKS, BUSINESS, order_facts(order), now, not_before
    )


def visit_facts(visit: Visit, from_day: date | None, lawn: Lawn) -> dict[str, object]:
    return {
        **lawn_facts(lawn),
        "visit": visit.key,
        "kind": visit.kind.value,
        "season": visit.season.words,
        "state": visit.state.value,
        "day": _iso(visit.day if visit.state is VisitState.BOOKED else None),
        "from_day": _iso(from_day),
        "minutes": visit.minutes,
        "packs": visit.packs,
        "revision": visit.revision,
        "reason": visit.reason,
    }


def treatment_facts(
    treatment: Treatment, visit: Visit, lawn: Lawn, rules: WateringRules
) -> dict[str, object]:
    litres = litres_for(treatment.wash_in_mm, treatment.area_m2)
    return {
        **lawn_facts(lawn),
        "visit": treatment.visit_key,
        "season": visit.season.words,
        "day": treatment.day.isoformat(),
        "dose_factor": treatment.dose_factor,
        "packs": sum(used.packs for used in treatment.packs),
        "probe_c": treatment.probe_c,
        "wash_in_mm": treatment.wash_in_mm,
        "wash_in_litres": litres,
        "wash_in_minutes": _tap_minutes(litres, lawn),
        "moist_from": (treatment.day + timedelta(days=1)).isoformat(),
        "moist_until": (treatment.day + timedelta(days=rules.days)).isoformat(),
        "moist_days": rules.days,
    }


def water_facts(
    watering_day: WateringDay,
    lawn: Lawn,
    treated_on: date,
    last_rain: tuple[date, float] | None,
    rules: WateringRules,
) -> dict[str, object]:
    rained_on, rained_mm = last_rain or (None, None)
    return {
        **lawn_facts(lawn),
        "visit": watering_day.visit_key,
        "day": watering_day.day.isoformat(),
        "treated_on": treated_on.isoformat(),
        "fortnight_day": (watering_day.day - treated_on).days,
        "moist_days": rules.days,
        "moist_until": (treated_on + timedelta(days=rules.days)).isoformat(),
        "advice_mm": watering_day.advice_mm,
        "advice_litres": watering_day.advice_litres,
        "advice_minutes": watering_day.advice_minutes,
        "deficit_mm": watering_day.deficit_mm,
        "capacity_mm": watering_day.capacity_mm,
        "rain_mm": watering_day.rain_mm,
        "turf_et_mm": watering_day.turf_et_mm,
        "watered_mm": watering_day.watered_mm,
        "last_rain_on": _iso(rained_on),
        "last_rain_mm": rained_mm,
        "reason": watering_day.reason,
    }


def order_facts(order: PackOrder) -> dict[str, object]:
    return {
        "order": order.key,
        "species": order.species.value,
        "packs": order.packs,
        "order_by": order.order_by.isoformat(),
        "needed_by": order.needed_by.isoformat(),
        "reason": order.reason,
    }


def lawn_facts(lawn: Lawn) -> dict[str, object]:
    return {
        "client": lawn.client_key,
        "lawn": lawn.key,
        "lawn_name": lawn.name,
        "area_m2": lawn.area_m2,
        "tap_litres_per_minute": lawn.tap_litres_per_minute,
    }


def _iso(day: date | None) -> str | None:
    return None if day is None else day.isoformat()


def _tap_minutes(litres: float, lawn: Lawn) -> float | None:
    tap = lawn.tap_litres_per_minute
    return None if tap is None else minutes_at_tap(litres, tap)
