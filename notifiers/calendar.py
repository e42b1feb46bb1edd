"""A client's visits as an iCalendar feed (RFC 5545, RFC 7986): same facts, same bytes."""

from __future__ import annotations

from datetime import timedelta

from icalendar import STATUS, TRANSP, Calendar, Event
from icalendar.prop import vDuration

from models.facts.post import FeedEvent, FeedFacts
from notifiers.words import VISIT_PURPOSES, VISIT_TITLES, sentence

DOMAIN = "visits.swardtide.invalid"  # RFC 2606: a name that nobody can own
PRODUCT = "-//Swardtide//Season calendar//EN"
REFRESH = timedelta(hours=6)


def render_feed(facts: FeedFacts) -> bytes:
    """The whole feed. Each event has its visit's key as UID and its revision, less one, as SEQUENCE."""
    calendar = Calendar.new(
        name=f"{facts.business_name}: lawn visits", prodid=PRODUCT, uid=f"{facts.client_key}@{DOMAIN}"
    )
    calendar.add("REFRESH-INTERVAL", vDuration(REFRESH), parameters={"VALUE": "DURATION"})
    for event in facts.events:
        calendar.add_component(_event(event))
    content: bytes = calendar.to_ical()
    return content


def _event(event: FeedEvent) -> Event:
    return Event.new(
        uid=f"{event.visit_key}@{DOMAIN}",
        sequence=event.revision - 1,
        stamp=event.changed_at,
        last_modified=event.changed_at,
        start=event.day,
        end=event.day + timedelta(days=1),
        status=STATUS.CANCELLED if event.cancelled else STATUS.CONFIRMED,
        transparency=TRANSP.TRANSPARENT,
        summary=_summary(event),
        description=_description(event),
    )


def _summary(event: FeedEvent) -> str:
    title = VISIT_TITLES[event.kind]
    if event.cancelled:
        return f"Called off: {title}, {event.lawn_name}"
    return f"{title.capitalize()}{' done' if event.done else ''}: {event.lawn_name}"


def _description(event: FeedEvent) -> str:
    lines = [f"{VISIT_TITLES[event.kind].capitalize()}, {event.season.words}."]
    if not (event.cancelled or event.done):
        lines.append(VISIT_PURPOSES[event.kind])
    if event.reason:
        lines.append(f"Why: {sentence(event.reason)}")
    return "\n".join(lines)
