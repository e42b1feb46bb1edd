"""Each lawn's picture on the season page: where it comes from, and how a browser shows it."""

from __future__ import annotations

from base64 import b64encode
from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta
from xml.etree import ElementTree

import httpx
import pytest
from playwright.sync_api import Browser, Page

from frontends.soil_facts import read_lawn_soil
from frontends.web.app import create_app
from models.facts.place import Client
from models.facts.season import LikelyDay, Outlook, Pest
from models.store.engine import Store
from models.store.people import add_clients
from models.store.windows import save_outlooks
from notifiers.calendar import render_feed
from notifiers.pictures.soil import soil_svg
from tests.entries.scene import AUTUMN, LAWN, NOW, SITE, SURVEY, TODAY, TREATMENT, set_up
from tests.frontends.served import served
from tests.post.pictures import a_course
from tests.windows.book import write_soil

KEY = b"k" * 64
DAY = timedelta(days=1)
OCTOBER = tuple(TODAY.replace(month=10, day=day) for day in (6, 17, 30))


def a_known_soil(store: Store) -> None:
    """A year of soil days to yesterday, and likely dates of the season that runs."""
    set_up(store, visits=(SURVEY, replace(TREATMENT, day=TODAY + 4 * DAY)))
    left = [TODAY + place * DAY for place in range(-15, 46)]
    chances = tuple((day, min(1.0, (left[-1] - day).days / 40)) for day in left)
    outlook = Outlook(
        *(SITE.key, LAWN.texture, Pest.LEATHERJACKETS, AUTUMN, chances, 12, "open in most years"),
        closing=LikelyDay(*OCTOBER),
    )
    write_soil(store, SITE.key, a_course(TODAY - 365 * DAY, 365))
    with store.write() as connection:
        save_outlooks(connection, [outlook])


@pytest.fixture
def base(sqlite_store: Store) -> Iterator[str]:
    a_known_soil(sqlite_store)
    with served(create_app(sqlite_store, KEY, lambda: NOW, render_feed)) as address:
        yield address


def opened(browser: Browser, base: str, width: int, scheme: str = "light") -> Page:
    """The page with its pictures scrolled into view, so that they load."""
    context = browser.new_context(viewport={"width": width, "height": 844}, color_scheme=scheme)  # type: ignore[arg-type]
    page = context.new_page()
    page.goto(f"{base}/")
    picture = page.locator("img.soil")
    picture.scroll_into_view_if_needed()
    picture.evaluate("one => one.complete || new Promise((done) => { one.onload = done; })")
    assert picture.evaluate("one => one.naturalWidth") > 0
    return page


def test_the_address_gives_the_picture_and_its_tag(base: str, sqlite_store: Store) -> None:
    answer = httpx.get(f"{base}/lawns/{LAWN.key}/soil.svg")
    place = read_lawn_soil(sqlite_store, LAWN.key, NOW)
    assert (answer.status_code, answer.headers["content-type"]) == (200, "image/svg+xml")
    assert answer.content == soil_svg(place.picture)
    again = httpx.get(str(answer.url), headers={"If-None-Match": answer.headers["etag"]})
    assert (again.status_code, again.content) == (304, b"")
    assert httpx.get(str(answer.url), headers={"If-None-Match": '"other"'}).status_code == 200


def test_the_picture_tells_of_window_likely_dates_and_visits(base: str) -> None:
    picture = ElementTree.fromstring(httpx.get(f"{base}/lawns/{LAWN.key}/soil.svg").content)
    description = picture[1].text or ""
    assert description.startswith("Estimated daily soil temperature from 15 January 2024 to 31 October 2024.")
    for told in (
        "The window was open 1 September 2024 to 16 September 2024.",
        "Likely last open day: 17 October 2024 (8 in 10: 6 October 2024 to 30 October 2024).",
        "Survey booked 16 September 2024. Treatment booked 20 September 2024.",
    ):
        assert told in description


def test_no_lawn_no_picture(base: str) -> None:
    answer = httpx.get(f"{base}/lawns/nowhere/soil.svg")
    assert (answer.status_code, answer.text) == (
        404,
        "lawn 'nowhere' is not known: see `swardtide clients list`\n",
    )


@pytest.mark.parametrize("headers", [{"Host": "turf.example"}, {"X-Forwarded-For": "203.0.113.9"}])
def test_pictures_are_refused_where_the_page_is(base: str, headers: dict[str, str]) -> None:
    answer = httpx.get(f"{base}/lawns/{LAWN.key}/soil.svg", headers=headers)
    assert answer.status_code == 403
    assert b"svg" not in answer.content


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [390, 1280])
def test_a_browser_shows_it_in_the_lawns_card(browser: Browser, base: str, width: int, scheme: str) -> None:
    page = opened(browser, base, width, scheme)
    shown = page.locator(f"#{LAWN.key} img.soil")
    box, card = shown.bounding_box(), page.locator(f"#{LAWN.key}").bounding_box()
    assert box is not None
    assert card is not None
    assert card["x"] < box["x"]
    assert box["x"] + box["width"] < card["x"] + card["width"]
    assert (shown.get_attribute("loading"), page.evaluate("document.documentElement.scrollWidth")) == (
        "lazy",
        width,
    )


def test_its_words_stand_for_it(browser: Browser, base: str) -> None:
    page = opened(browser, base, 1280)
    newest = page.locator(f"#{LAWN.key} dd", has_text="at 10 cm").inner_text()
    alternative = page.locator("img.soil").get_attribute("alt")
    assert newest.split(" °C at 10 cm on ")[1].startswith("15 Sep 2024, in 8 of 10 cases ")
    assert alternative == (
        "Soil temperature of Sorrelby back lawn since last season with its range, the limit, open days, "
        f"likely days and visits. Newest: {newest}."
    )


def test_opened_by_itself_it_keeps_its_colours(browser: Browser, base: str) -> None:
    """Its style sheet must pass the policy that it is sent with."""
    page = browser.new_page()
    page.goto(f"{base}/lawns/{LAWN.key}/soil.svg")
    assert page.evaluate("getComputedStyle(document.querySelector('.paper')).fill") == "rgb(255, 255, 255)"


def test_in_the_dark_and_on_paper_the_card_is_of_one_ground(browser: Browser, base: str) -> None:
    """The picture's ground is the card's own: one colour where both are seen together."""
    for scheme, ground in (("light", (255, 255, 255)), ("dark", (28, 35, 29))):
        page = opened(browser, base, 390, scheme)
        assert corner(page) == ground
        page.emulate_media(media="print")
        assert corner(page) == (255, 255, 255)


def corner(page: Page) -> tuple[int, int, int]:
    """The colour near the picture's corner, read from a screenshot by the browser itself."""
    png = b64encode(page.locator("img.soil").screenshot()).decode()
    reader = page.context.browser.new_page()  # type: ignore[union-attr]
    red, green, blue = reader.evaluate(
        """async (png) => {
          const image = new Image(); image.src = `data:image/png;base64,${png}`; await image.decode();
          const canvas = document.createElement("canvas"); const to = canvas.getContext("2d");
          to.drawImage(image, 0, 0); return [...to.getImageData(3, 3, 1, 1).data].slice(0, 3); }""",
        png,
    )
    reader.close()
    return red, green, blue


def test_lawns_are_in_order_of_names(sqlite_store: Store) -> None:
    a_known_soil(sqlite_store)
    first = Client("zz-amory", "Amory Heath", None, None, "Europe/Dublin")
    lawns = [
        replace(LAWN, key="a-front", name="Front strip"),
        replace(LAWN, key="z-bank", name="bank"),
        replace(LAWN, key="zz-lawn", client_key=first.key, name="Heath lawn"),
    ]
    with sqlite_store.write() as connection:
        add_clients(connection, [first], lawns)
    with served(create_app(sqlite_store, KEY, lambda: NOW, render_feed)) as base:
        page = httpx.get(f"{base}/").text
    keys = ["zz-lawn", "z-bank", "a-front", LAWN.key]
    assert sorted(keys, key=lambda key: page.index(f'<article id="{key}"')) == keys


def test_before_they_are_worked_out_it_says_from_when_likely_dates_will_be(sqlite_store: Store) -> None:
    """Common practice: the autumn's calendar begins on 1 September; 90 days before it is 3 June."""
    set_up(sqlite_store, window=None)
    for day, told in ((31, "worked out from 3 June on"), (None, "not worked out yet")):
        now = NOW.replace(month=5, day=day) if day else NOW.replace(month=6, day=3)
        with served(create_app(sqlite_store, KEY, lambda now=now: now, render_feed)) as base:  # type: ignore[misc]
            page = httpx.get(f"{base}/").text
        assert f"<dt>Likely dates</dt>\n    <dd>{told}" in page


def test_a_page_of_many_lawns_stays_small(sqlite_store: Store) -> None:
    """Pictures come by themselves when they are looked at: a lawn costs the page little."""
    a_known_soil(sqlite_store)
    with sqlite_store.write() as connection:
        lawns = [replace(LAWN, key=f"lawn-{place}", name=f"Lawn {place}") for place in range(40)]
        add_clients(connection, [], lawns)
    with served(create_app(sqlite_store, KEY, lambda: NOW, render_feed)) as base:
        page = httpx.get(f"{base}/")
    assert page.text.count('loading="lazy"') == 41
    assert len(page.content) < 150_000
