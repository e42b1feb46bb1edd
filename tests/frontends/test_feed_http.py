"""A client's calendar over real HTTP, as RFC 9110 has conditional requests answered."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta

import httpx
import icalendar
import pytest

from frontends.web.app import create_app
from frontends.wiring import calendar_address
from models.facts.work import VisitState
from models.store.engine import Store
from models.store.feeds import load_feed, refresh_feeds
from models.store.people import add_clients, find_client, withdraw_address
from models.store.visits import save_visits
from notifiers.calendar import render_feed
from tests.entries.scene import CLIENT, NOW, TODAY, TREATMENT, set_up
from tests.frontends.served import served

KEY = b"k" * 64


@pytest.fixture
def address(store: Store) -> Iterator[str]:
    """The address of the calendar of a client with one booked treatment."""
    set_up(store)
    with store.write() as connection:
        refresh_feeds(connection, [CLIENT.key], render_feed, NOW, TODAY)
    with served(create_app(store, KEY, lambda: NOW, render_feed)) as base:
        yield calendar_address(base, KEY, CLIENT)


def days_in(answer: httpx.Response) -> list[date]:
    return [event.start for event in icalendar.Calendar.from_ical(answer.content).events]


def test_the_stored_bytes_are_answered_with_their_tag(store: Store, address: str) -> None:
    with store.read() as connection:
        feed = load_feed(connection, CLIENT.key)
    assert feed is not None
    answer = httpx.get(address)
    assert (answer.status_code, answer.content) == (200, feed.content)
    assert days_in(answer) == [TODAY]
    assert {
        name: answer.headers[name]
        for name in ("content-type", "etag", "last-modified", "cache-control", "x-robots-tag")
    } == {
        "content-type": "text/calendar; charset=utf-8",  # RFC 5545, 8.1
        "etag": feed.etag,
        "last-modified": "Mon, 16 Sep 2024 11:00:00 GMT",  # RFC 9110, 5.6.7
        "cache-control": "private, no-cache",
        "x-robots-tag": "noindex",
    }
    assert "set-cookie" not in answer.headers


@pytest.mark.parametrize("wrap", ["{0}", "W/{0}", '"other", {0}', "*"])
def test_a_reader_that_has_the_bytes_gets_304(address: str, wrap: str) -> None:
    first = httpx.get(address)
    # RFC 9110, 13.1.2: weak comparison, lists, and "*".
    answer = httpx.get(address, headers={"If-None-Match": wrap.format(first.headers["etag"])})
    assert (answer.status_code, answer.content) == (304, b"")
    assert answer.headers["etag"] == first.headers["etag"]


def test_if_modified_since_counts_only_without_if_none_match(address: str) -> None:
    same = {"If-Modified-Since": "Mon, 16 Sep 2024 11:00:00 GMT"}
    earlier = {"If-Modified-Since": "Mon, 16 Sep 2024 10:59:59 GMT"}
    other_tag = {**same, "If-None-Match": '"other"'}
    unreadable = {"If-Modified-Since": "the day before yesterday"}
    answers = [httpx.get(address, headers=headers) for headers in (same, earlier, other_tag, unreadable)]
    assert [answer.status_code for answer in answers] == [304, 200, 200, 200]


def test_head_is_get_without_the_bytes(address: str) -> None:
    get, head = httpx.get(address), httpx.head(address)
    assert (head.status_code, head.content) == (200, b"")
    apart = {"date"}
    assert {name: value for name, value in head.headers.items() if name not in apart} == {
        name: value for name, value in get.headers.items() if name not in apart
    }


def test_a_moved_visit_changes_bytes_and_tag(store: Store, address: str) -> None:
    before = httpx.get(address)
    moved = replace(TREATMENT, day=TODAY + timedelta(days=2), revision=3, state=VisitState.BOOKED)
    with store.write() as connection:
        save_visits(connection, [moved])
        refresh_feeds(connection, [CLIENT.key], render_feed, NOW + timedelta(hours=1), TODAY)
    after = httpx.get(address, headers={"If-None-Match": before.headers["etag"]})
    assert (after.status_code, days_in(after)) == (200, [TODAY + timedelta(days=2)])
    assert after.headers["last-modified"] == "Mon, 16 Sep 2024 12:00:00 GMT"


@pytest.mark.parametrize(
    "spoil",
    [
        lambda address: address.replace(CLIENT.key, "nobody"),
        lambda address: address[:-5] + ("A" if address[-5] != "A" else "B") + ".ics",
        lambda address: address.removesuffix(".ics"),
        lambda address: address.rpartition("/")[0],
    ],
)
def test_any_other_address_is_not_found(address: str, spoil) -> None:
    assert httpx.get(spoil(address)).status_code == 404


def test_a_withdrawn_address_is_gone_and_the_new_one_holds(store: Store, address: str) -> None:
    with store.write() as connection:
        client = withdraw_address(connection, CLIENT.key)
    old = httpx.get(address)
    base = address.partition("/calendar/")[0]
    new = httpx.get(calendar_address(base, KEY, client))
    assert (old.status_code, old.text) == (
        410,
        "This calendar address was withdrawn. Ask us for the new one.",
    )
    assert (new.status_code, days_in(new)) == (200, [TODAY])


def test_a_client_without_visits_has_an_empty_calendar(store: Store, address: str) -> None:
    newcomer = replace(CLIENT, key="tam-pimpernell", name="Tam Pimpernell")
    with store.write() as connection:
        add_clients(connection, [newcomer], [])
        assert find_client(connection, newcomer.key) == newcomer
    base = address.partition("/calendar/")[0]
    answer = httpx.get(calendar_address(base, KEY, newcomer))
    assert (answer.status_code, days_in(answer)) == (200, [])
    again = httpx.get(
        calendar_address(base, KEY, newcomer), headers={"If-None-Match": answer.headers["etag"]}
    )
    assert again.status_code == 304


def test_feeds_are_read_only(address: str) -> None:
    assert [httpx.request(method, address).status_code for method in ("POST", "PUT", "DELETE")] == [405] * 3
