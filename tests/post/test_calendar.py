"""The feed by the sections of RFC 5545 and RFC 7986, and as two independent readers understand it."""

from __future__ import annotations

import json
import subprocess
import sys
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
from icalendar import Calendar

from models.facts.post import FeedFacts
from models.facts.work import VisitKind
from notifiers.calendar import render_feed
from tests.post.golden_files import GOLDEN, a_year_of_visits, an_event

READERS = Path(__file__).parent / "readers"
COMMANDS = {
    # Each in a process of its own: what a reader does to warnings or tables concerns nobody else.
    "vobject": [sys.executable, str(READERS / "read_with_vobject.py")],
    "ical.js": ["node", str(READERS / "read_with_icaljs.mjs")],
}


def read_with(reader: str, feed: bytes) -> dict[str, Any]:
    done = subprocess.run(COMMANDS[reader], input=feed, capture_output=True, check=False)
    remedy = f"run `npm install` in {READERS.name}/" if reader == "ical.js" else ""
    assert done.returncode == 0, f"{reader} failed; {remedy}\n{done.stderr.decode()}"
    answer: dict[str, Any] = json.loads(done.stdout)
    return answer


def lines(feed: bytes) -> list[str]:
    return feed.decode().replace("\r\n ", "").split("\r\n")


def test_the_feed_is_the_golden_one() -> None:
    assert render_feed(a_year_of_visits()) == (GOLDEN / "feed.ics").read_bytes()


@pytest.mark.parametrize("reader", COMMANDS)
def test_an_independent_reader_sees_what_was_meant(reader: str) -> None:
    facts = a_year_of_visits()
    why = "Why: The soil is likely to hold 10 °C, and two lawns nearby are treated that day."
    place = "Back lawn; beside the pond, north"
    summaries = [
        f"Late-winter grub count done: {place}",
        f"Called off: lawn survey, {place}",
        f"Lawn treatment: {place}",
        f"Follow-up check: {place}",
    ]
    descriptions = [
        f"Late-winter grub count, spring 2026.\n{why}",
        f"Lawn survey, spring 2026.\n{why}",
        "Lawn treatment, spring 2026.\nWe treat the marked zones with live nematodes and water them in. "
        f"Please keep children and pets off until the lawn has been watered in.\n{why}",
        "Follow-up check, spring 2026.\nWe look at how the lawn has come on since its treatment.\n" + why,
    ]
    assert read_with(reader, render_feed(facts)) == {
        "name": "Tarnwhistle Turf: lawn visits",
        "events": [
            {
                "uid": f"{event.visit_key}@visits.swardtide.invalid",
                "sequence": event.revision - 1,
                "first": event.day.isoformat(),
                "end": (event.day + timedelta(days=1)).isoformat(),
                "whole_day": True,
                "summary": summary,
                "description": description,
                "status": "CANCELLED" if event.cancelled else "CONFIRMED",
                "stamp": "2026-04-09T03:30:00.000Z",
            }
            for event, summary, description in zip(facts.events, summaries, descriptions, strict=True)
        ],
    }


@pytest.mark.parametrize("reader", COMMANDS)
def test_rfc_5545_3_3_11_strange_words_arrive_as_they_are(reader: str) -> None:
    strange = 'Ærø, "quoted"; back\\slash, a\nsecond line, 🌱 ' + "long " * 40 + "end"
    event = replace(an_event(VisitKind.SURVEY, date(2026, 4, 20)), lawn_name=strange)
    (read,) = read_with(reader, render_feed(FeedFacts("fern", "T", (event,))))["events"]
    assert read["summary"] == f"Lawn survey: {strange}"


@pytest.mark.parametrize("reader", COMMANDS)
def test_a_feed_without_a_visit_can_be_read(reader: str) -> None:
    assert read_with(reader, render_feed(FeedFacts("fern", "T", ()))) == {
        "name": "T: lawn visits",
        "events": [],
    }


def test_rfc_5545_3_1_lines_end_in_crlf_and_are_folded_at_75_octets() -> None:
    feed = render_feed(a_year_of_visits())
    assert feed.endswith(b"END:VCALENDAR\r\n")
    assert max(len(line) for line in feed.split(b"\r\n")) <= 75
    assert b"\n" not in feed.replace(b"\r\n", b"")


def test_rfc_5545_3_6_1_each_event_has_the_properties_it_must_and_none_twice() -> None:
    for event in Calendar.from_ical(render_feed(a_year_of_visits())).walk("VEVENT"):
        names = [name for name, _ in event.property_items(recursive=False)][1:-1]
        assert len(names) == len(set(names))
        assert {"UID", "DTSTAMP", "DTSTART", "DTEND", "SEQUENCE", "STATUS", "LAST-MODIFIED"} <= set(names)


def test_rfc_5545_3_8_2_4_a_day_is_a_date_and_ends_on_the_next() -> None:
    # Over the end of a month, of a leap February and of a year.
    for day, end in (
        (date(2028, 2, 29), "20280301"),
        (date(2026, 12, 31), "20270101"),
        (date(2026, 3, 29), "20260330"),
    ):
        told = lines(render_feed(FeedFacts("fern", "T", (an_event(VisitKind.SURVEY, day),))))
        assert [line for line in told if line.startswith(("DTSTART", "DTEND"))] == [
            f"DTSTART;VALUE=DATE:{day:%Y%m%d}",
            f"DTEND;VALUE=DATE:{end}",
        ]


def test_rfc_5545_3_8_7_4_a_visit_that_moves_keeps_its_uid_and_raises_its_sequence() -> None:
    def uid_and_sequence(day: date, revision: int) -> list[str]:
        event = an_event(VisitKind.TREATMENT, day, revision=revision)
        told = lines(render_feed(FeedFacts("fern", "T", (event,))))[7:]
        return [line for line in told if line.startswith(("UID", "SEQUENCE"))]

    first, moved = uid_and_sequence(date(2026, 4, 20), 1), uid_and_sequence(date(2026, 4, 22), 2)
    assert first[0] == moved[0]
    assert (first[1], moved[1]) == ("SEQUENCE:0", "SEQUENCE:1")


def test_rfc_7986_5_name_and_refresh_interval() -> None:
    told = lines(render_feed(a_year_of_visits()))
    assert "NAME:Tarnwhistle Turf: lawn visits" in told
    assert "REFRESH-INTERVAL;VALUE=DURATION:PT6H" in told


def test_same_facts_give_the_same_bytes() -> None:
    assert render_feed(a_year_of_visits()) == render_feed(a_year_of_visits())
