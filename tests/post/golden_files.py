"""The golden mails and feeds, and how they are written anew."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from models.facts.post import FeedEvent, FeedFacts, Message
from models.facts.work import VisitKind
from notifiers.calendar import render_feed
from notifiers.mail import write_mail
from tests.post.cast import BUSINESS, FIRST_ATTEMPT, NOW, SPRING, a_visit, one_of_each, the_reader

GOLDEN = Path(__file__).parent / "golden"


def a_mail(message: Message) -> bytes:
    return write_mail(message, BUSINESS, the_reader(message), FIRST_ATTEMPT)


def an_event(
    kind: VisitKind, day: date, *, revision: int = 1, cancelled: bool = False, done: bool = False
) -> FeedEvent:
    return FeedEvent(
        visit_key=a_visit(kind).key,
        kind=kind,
        day=day,
        lawn_name="Back lawn; beside the pond, north",
        season=SPRING,
        reason="the soil is likely to hold 10 °C, and two lawns nearby are treated that day",
        revision=revision,
        cancelled=cancelled,
        done=done,
        changed_at=NOW,
    )


def a_year_of_visits() -> FeedFacts:
    return FeedFacts(
        "fern",
        BUSINESS.name,
        (
            an_event(VisitKind.COUNT, date(2026, 2, 27), done=True),
            an_event(VisitKind.SURVEY, date(2026, 3, 31), cancelled=True, revision=2),
            an_event(VisitKind.TREATMENT, date(2026, 4, 20), revision=3),
            an_event(VisitKind.FOLLOW_UP, date(2026, 5, 31)),
        ),
    )


def write_golden_files() -> None:
    for name, message in one_of_each().items():
        (GOLDEN / f"{name}.eml").write_bytes(a_mail(message))
    (GOLDEN / "feed.ics").write_bytes(render_feed(a_year_of_visits()))


if __name__ == "__main__":
    write_golden_files()
