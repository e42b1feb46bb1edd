"""The season page in a real browser, on a phone and on a desk, and who may see it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import httpx
import pytest
from playwright.sync_api import Browser, Page

from frontends.web.app import create_app
from models.clock import now_utc
from models.facts.post import Message, MessageKind, MessageState
from models.facts.season import Season, SeasonName, Span
from models.facts.stock import PackOrder
from models.facts.weather import WeatherCredit
from models.facts.work import PacksUsed, Treatment, Visit, VisitKind, VisitState, WateringDay
from models.store.credits import save_credits
from models.store.engine import Store
from models.store.people import load_sites
from models.store.post import Ending, claim, end_claim, enqueue
from models.store.stock import add_order
from models.store.watering import save_watering_days
from models.store.work import add_treatment
from notifiers.calendar import render_feed
from tests.entries.scene import CLIENT, FELTIAE, LAWN, NOW, PROGRAMME, SURVEY, TODAY, TREATMENT, set_up
from tests.frontends.served import served

KEY = b"k" * 64
DAY = timedelta(days=1)

DONE = replace(TREATMENT, state=VisitState.DONE, day=TODAY - 3 * DAY, revision=3)
NEXT_SPRING = Season(2025, SeasonName.SPRING)
COUNT = Visit(
    key=Visit.key_for(PROGRAMME.key, NEXT_SPRING, VisitKind.COUNT),
    programme_key=PROGRAMME.key,
    lawn_key=LAWN.key,
    season=NEXT_SPRING,
    kind=VisitKind.COUNT,
    allowed=Span(TODAY.replace(year=2025, month=2, day=1), TODAY.replace(year=2025, month=3, day=20)),
    minutes=40,
    packs=0,
    state=VisitState.OWED,
    day=None,
    revision=1,
    reason="The pattern of the programme",
    changed_at=NOW,
)
DRY = WateringDay(
    visit_key=DONE.key,
    lawn_key=LAWN.key,
    day=TODAY,
    rain_mm=0.0,
    turf_et_mm=2.1,
    watered_mm=0.0,
    deficit_mm=5.4,
    capacity_mm=8.5,
    advice_mm=5.4,
    advice_litres=810.0,
    advice_minutes=54.0,
    reason="water is needed",
    weather_revision=1,
)
ORDER = PackOrder("S. feltiae/2024-10-01/1", FELTIAE, 3, TODAY + 9 * DAY, TODAY + 14 * DAY, "", NOW)
MESSAGES = tuple(
    Message(key, kind, CLIENT.key, {}, NOW, NOW)
    for key, kind in (
        ("visit:1", MessageKind.VISIT_MOVED),
        ("watering:1", MessageKind.WATER_TODAY),
        ("watering:2", MessageKind.WATER_TODAY),
    )
)


def a_season(store: Store) -> None:
    """A treated lawn that dries out, a survey today, packs, an order and a message."""
    set_up(store, visits=(DONE, SURVEY, COUNT))
    with store.write() as connection:
        add_treatment(
            connection,
            Treatment(
                *(DONE.key, LAWN.key, TODAY - 3 * DAY, 150.0, 1.0, (PacksUsed("late", 2),), 13.0, 6.0, NOW)
            ),
        )
        save_watering_days(connection, [DRY])
        add_order(connection, ORDER)
        enqueue(connection, MESSAGES)
        claimed = claim(connection, "visit:1", "worker", NOW)
        assert claimed is not None
        end_claim(connection, claimed, Ending(MessageState.FAILED, "no e-mail address: telephone"), NOW)


@pytest.fixture
def base(sqlite_store: Store) -> Iterator[str]:
    a_season(sqlite_store)
    with served(create_app(sqlite_store, KEY, lambda: NOW, render_feed)) as address:
        yield address


def opened(browser: Browser, base: str, width: int, scheme: str = "light") -> Page:
    """The page without JavaScript of its own, after all its parts have come."""
    context = browser.new_context(viewport={"width": width, "height": 844}, color_scheme=scheme)  # type: ignore[arg-type]
    page = context.new_page()
    answers: list[int] = []
    page.on("response", lambda answer: answers.append(answer.status))
    page.goto(f"{base}/")
    assert answers == [200, 200]  # the page and its style sheet, nothing from anywhere else
    return page


def words_of(page: Page, section: str) -> str:
    return " ".join(page.locator(section).inner_text().split())


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [390, 1280])
def test_nothing_scrolls_sideways(browser: Browser, base: str, width: int, scheme: str) -> None:
    page = opened(browser, base, width, scheme)
    page.locator("summary").click()
    assert page.evaluate("document.documentElement.scrollWidth") == width
    too_wide = page.evaluate(
        "[...document.querySelectorAll('body *')].filter(one => one.getBoundingClientRect().right >"
        " innerWidth + 1).map(one => one.outerHTML.slice(0, 80))"
    )
    assert too_wide == []


def test_each_part_of_the_season_is_told(browser: Browser, base: str) -> None:
    page = opened(browser, base, 1280)
    assert words_of(page, ".clock") == (
        "Monday 16 September 2024, 12:00 in Europe/Dublin Replayed clock: not the present time"
    )
    assert words_of(page, "#ahead") == (
        "Next visits Monday 16 September, today 1 visit, 36 minutes on site"
        " Sorrelby back lawn, Orla Sorrelby: survey"
    )
    assert (
        "Sorrelby back lawn 5.4 mm short of 8.5 mm 5.4 mm asked for, 810 litres, 55 minutes at the tap"
        in (words_of(page, "#watering"))
    )
    stock = words_of(page, "#stock")
    assert "3 packs of S. feltiae, best before 8 Oct 2024" in stock
    assert "4 packs of S. feltiae, past best before 15 Sep 2024" in stock
    assert "3 packs of S. feltiae, ask by 25 Sep 2024, needed by 30 Sep 2024" in stock
    assert words_of(page, "#messages") == (
        "Messages Failed, to Orla Sorrelby: 1 × visit moved No e-mail address: telephone."
        " Owed, to Orla Sorrelby: 2 × water today"
    )
    lawn = words_of(page, f"#{LAWN.key}")
    assert "Autumn 2024: open 7-day mean is 14.1 °C." in lawn
    assert "Against leatherjackets; the calendar allows 1 September to 31 October." in lawn
    assert "Next visit Monday 16 September, survey." in lawn


def test_the_years_of_a_programme_open_without_javascript(browser: Browser, base: str) -> None:
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(f"{base}/")
    years = page.locator("details")
    assert not years.get_by_text("late-winter count").is_visible()
    page.locator("summary").click()
    assert " ".join(years.inner_text().split()) == (
        "The years of the programme, 3 from 1 Feb 2024"
        " Autumn 2024 window open 1 September to 16 September"
        " treatment: done 13 Sep 2024 survey: booked 16 Sep 2024"
        " Spring 2025 window not judged yet late-winter count: no day yet, 1 Feb 2025 to 20 Mar 2025"
    )


def test_it_credits_the_sources_and_cautions(browser: Browser, base: str) -> None:
    foot = words_of(opened(browser, base, 390), "footer")
    assert "Weather data: station files for Skerravane; the terms of their owners hold." in foot
    assert "Met Éireann (www.met.ie), CC BY 4.0" in foot
    assert "local rules and licensed practice come before anything said here" in foot


def test_whom_the_stored_weather_comes_from_is_told_with_its_licence(sqlite_store: Store) -> None:
    a_season(sqlite_store)
    noaa = WeatherCredit("meteostat", "NOAA GHCN-Daily", "CC0 1.0 Universal", "https://creativecommons.org")
    closed = WeatherCredit("meteostat", "Another <service>", "", commercial=False)
    ahead = WeatherCredit("met-norway-forecast", "MET Norway", "NLOD 2.0")
    with sqlite_store.write() as connection:
        key = load_sites(connection)[0].key
        save_credits(connection, {key: [noaa, closed, ahead]})
        save_credits(connection, {key: [noaa]})
    with served(create_app(sqlite_store, KEY, lambda: NOW, render_feed)) as base:
        page = httpx.get(f"{base}/").text
    assert "<p>Forecast: MET Norway, NLOD 2.0.</p>" in page
    assert (
        "<p>Weather data: Another &lt;service&gt; (not for commercial use); "
        "NOAA GHCN-Daily, CC0 1.0 Universal.</p>"
    ) in page


def test_after_its_calendar_a_season_is_told_as_the_last(sqlite_store: Store) -> None:
    a_season(sqlite_store)
    winter = NOW.replace(month=12)
    with served(create_app(sqlite_store, KEY, lambda: winter, render_feed)) as base:
        words = " ".join(httpx.get(f"{base}/").text.split())
    assert "<dd>Autumn 2024: window open 1 September to 16 September" in words
    assert "Spring 2025: lies ahead" in words


def test_the_present_clock_is_not_called_a_replay(sqlite_store: Store) -> None:
    a_season(sqlite_store)
    with served(create_app(sqlite_store, KEY, now_utc, render_feed)) as base:
        assert "Replayed clock" not in httpx.get(f"{base}/").text


def test_contrast_of_words_on_their_ground(browser: Browser, base: str) -> None:
    """WCAG 2.2, 1.4.3: 4.5 to 1 for text, in both schemes."""
    contrast = Path(__file__).with_name("contrast.js").read_text()
    for scheme in ("light", "dark"):
        page = opened(browser, base, 390, scheme)
        page.locator("summary").click()
        assert page.evaluate(contrast) == []


@pytest.mark.parametrize(
    "headers",
    [
        {"Host": "turf.example"},
        {"X-Forwarded-For": "203.0.113.9"},
        {"Forwarded": "for=203.0.113.9"},
        {"Via": "1.1 proxy"},
    ],
)
def test_the_page_is_refused_where_somebody_may_stand_between(base: str, headers: dict[str, str]) -> None:
    answer = httpx.get(f"{base}/", headers=headers)
    assert (answer.status_code, answer.text) == (
        403,
        "The season page is shown on this machine only: open it there, at a loopback address.\n",
    )


def test_the_page_is_shown_beyond_where_it_is_told_to(sqlite_store: Store) -> None:
    a_season(sqlite_store)
    app = create_app(sqlite_store, KEY, lambda: NOW, render_feed, season_page_beyond_loopback=True)
    with served(app) as base:
        assert httpx.get(f"{base}/", headers={"Host": "turf.example"}).status_code == 200


def test_names_are_words_never_markup(sqlite_store: Store) -> None:
    from models.store.people import save_business
    from tests.entries.scene import BUSINESS

    a_season(sqlite_store)
    with sqlite_store.write() as connection:
        save_business(connection, replace(BUSINESS, name="<script>alert(1)</script>"))
    with served(create_app(sqlite_store, KEY, lambda: NOW, render_feed)) as base:
        page = httpx.get(f"{base}/")
    assert "<script" not in page.text
    assert "&lt;script&gt;alert(1)" in page.text
    assert page.headers["content-security-policy"].startswith("default-src 'none'")


def test_before_a_business_is_set_up_the_page_says_what_to_do(sqlite_store: Store) -> None:
    with served(create_app(sqlite_store, KEY, lambda: NOW, render_feed)) as base:
        answer = httpx.get(f"{base}/")
    assert answer.status_code == 503
    assert "set it up first: `swardtide clients begin`" in answer.text


def test_it_prints(browser: Browser, base: str, tmp_path: Path) -> None:
    page = opened(browser, base, 1280)
    page.pdf(path=tmp_path / "season.pdf", format="A4")
    assert (tmp_path / "season.pdf").read_bytes().startswith(b"%PDF")
