"""Which change of a visit is told to whom, and under which key."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date

import pytest

from models.facts.post import Message, MessageKind
from models.facts.rules import WateringRules
from models.facts.work import Visit, VisitKind, VisitState, WateringDay
from scheduler.announcements import visit_messages, water_message
from tests.entries.scene import CLIENT, LAWN, NOW, TODAY, TREATMENT, a_visit

OWED = replace(TREATMENT, state=VisitState.OWED, day=None, revision=1)
BOOKED = replace(TREATMENT, revision=2)
MOVED = replace(BOOKED, day=date(2024, 9, 18), revision=3)
SET_BACK = replace(BOOKED, state=VisitState.OWED, day=None, revision=3)
MISSED = replace(OWED, state=VisitState.MISSED, revision=2)
DONE = replace(BOOKED, state=VisitState.DONE, revision=3)
CALLED_OFF = replace(BOOKED, state=VisitState.CALLED_OFF, revision=3)
OWED_COUNT = replace(a_visit(VisitKind.COUNT, day=None), revision=1)

NONE: list[tuple[str, str | None, str | None]] = []


def told(before: list[Visit], after: Visit, earlier: date | None = None) -> list[tuple[str, object, object]]:
    """Kind, former and present day of each message about a change."""
    messages = visit_messages(
        {visit.key: visit for visit in before},
        [after],
        {LAWN.key: LAWN},
        NOW,
        NOW,
        {} if earlier is None else {after.key: earlier},
    )
    return [_short(message) for message in messages]


def _short(message: Message) -> tuple[str, object, object]:
    assert message.recipient == CLIENT.key
    assert message.key == f"visit:{message.payload['visit']}:rev{message.payload['revision']}:" + (
        message.kind.removeprefix("visit-")
    )
    return message.kind.value, message.payload["from_day"], message.payload["day"]


@pytest.mark.parametrize(
    ("before", "after", "messages"),
    [
        ([], OWED, NONE),
        ([OWED], BOOKED, [("visit-booked", None, "2024-09-16")]),
        ([], BOOKED, [("visit-booked", None, "2024-09-16")]),
        ([BOOKED], MOVED, [("visit-moved", "2024-09-16", "2024-09-18")]),
        ([BOOKED], replace(BOOKED, revision=3, minutes=40), NONE),
        ([BOOKED], SET_BACK, [("visit-moved", "2024-09-16", None)]),
        ([BOOKED], DONE, NONE),
        ([BOOKED], CALLED_OFF, [("visit-called-off", "2024-09-16", None)]),
        ([BOOKED], replace(MISSED, revision=3), [("visit-called-off", "2024-09-16", None)]),
        ([OWED], MISSED, [("visit-called-off", None, None)]),
        ([MISSED], replace(MISSED, revision=3), NONE),
        ([OWED], replace(CALLED_OFF, day=None), NONE),
        ([OWED_COUNT], replace(OWED_COUNT, state=VisitState.MISSED, revision=2), NONE),
        ([], replace(OWED, state=VisitState.NOT_NEEDED), NONE),
    ],
)
def test_what_a_client_hears_of_a_change(
    before: list[Visit], after: Visit, messages: list[tuple[str, str | None, str | None]]
) -> None:
    assert told(before, after) == messages


def test_booked_again_after_it_fell_through_is_moved() -> None:
    again = replace(MOVED, revision=4)
    assert told([SET_BACK], again, TODAY) == [("visit-moved", "2024-09-16", "2024-09-18")]


def test_payloads_are_json_and_come_back_the_same() -> None:
    (message,) = visit_messages({}, [BOOKED], {LAWN.key: LAWN}, NOW, NOW)
    assert json.loads(json.dumps(message.payload)) == message.payload


def test_advice_to_water_says_how_much_how_long_and_why() -> None:
    watering_day = WateringDay(
        visit_key=TREATMENT.key,
        lawn_key=LAWN.key,
        day=date(2024, 9, 20),
        rain_mm=0.0,
        turf_et_mm=2.0,
        watered_mm=0.0,
        deficit_mm=5.5,
        capacity_mm=8.5,
        advice_mm=5.5,
        advice_litres=825.0,
        advice_minutes=55.0,
        reason="5.5 mm short",
        weather_revision=1,
    )
    rained = (date(2024, 9, 17), 3.2)
    assert water_message(watering_day, LAWN, TODAY, rained, WateringRules(), NOW, NOW) == Message(
        key=f"watering:{TREATMENT.key}:2024-09-20",
        kind=MessageKind.WATER_TODAY,
        recipient=CLIENT.key,
        payload={
            "client": CLIENT.key,
            "lawn": LAWN.key,
            "lawn_name": "Sorrelby back lawn",
            "area_m2": 150.0,
            "tap_litres_per_minute": 15.0,
            "visit": TREATMENT.key,
            "day": "2024-09-20",
            "treated_on": "2024-09-16",
            "fortnight_day": 4,
            "moist_days": 14,
            "moist_until": "2024-09-30",
            "advice_mm": 5.5,
            "advice_litres": 825.0,
            "advice_minutes": 55.0,
            "deficit_mm": 5.5,
            "capacity_mm": 8.5,
            "rain_mm": 0.0,
            "turf_et_mm": 2.0,
            "watered_mm": 0.0,
            "last_rain_on": "2024-09-17",
            "last_rain_mm": 3.2,
            "reason": "5.5 mm short",
        },
        caused_at=NOW,
        not_before=NOW,
    )
