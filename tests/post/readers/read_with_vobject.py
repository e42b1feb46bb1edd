"""Reads a feed from standard input with vobject and prints what a calendar would show, as JSON."""

import json
import sys
from datetime import UTC, datetime

import vobject

calendar = vobject.readOne(sys.stdin.buffer.read().decode())
events = [
    {
        "uid": event.uid.value,
        "sequence": int(event.sequence.value),
        "first": event.dtstart.value.isoformat(),
        "end": event.dtend.value.isoformat(),
        "whole_day": not isinstance(event.dtstart.value, datetime),
        "summary": event.summary.value,
        "description": event.description.value,
        "status": event.status.value,
        "stamp": event.dtstamp.value.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%S.000Z"),
    }
    for event in getattr(calendar, "vevent_list", [])
]
json.dump({"name": calendar.x_wr_calname.value, "events": events}, sys.stdout)
