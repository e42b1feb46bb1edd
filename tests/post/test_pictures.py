"""Pictures of the soil: one golden picture, and what must hold of every picture."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta
from statistics import NormalDist
from xml.etree import ElementTree
from xml.etree.ElementTree import Element

import pytest
from hypothesis import given
from hypothesis import strategies as st
from playwright.sync_api import Browser, Page

from models.facts.season import LikelyDay, Span
from models.facts.weather import Provenance, SoilDay
from notifiers.pictures.facts import Z_80, SoilPicture
from notifiers.pictures.palette import DARK, LIGHT, PRINT, Palette
from notifiers.pictures.soil import soil_svg
from notifiers.pictures.words import soil_words
from tests.post.golden_files import GOLDEN
from tests.post.pictures import TODAY, a_course, a_small_picture, a_soil_day

SVG = "{http://www.w3.org/2000/svg}"
A_YEAR = SoilPicture("Back lawn", Span(date(2025, 5, 1), date(2026, 4, 30)), TODAY, (), 10.0)


def points_of(part: Element) -> Iterator[tuple[float, float]]:
    """Every corner that an element draws to, in the picture's units."""
    at = {name: float(value) for name, value in part.attrib.items() if re.fullmatch(r"-?[\d.]+", value)}
    if part.tag == f"{SVG}rect":
        x, y = at.get("x", 0.0), at.get("y", 0.0)
        yield from ((x, y), (x + at["width"], y + at["height"]))
    elif part.tag == f"{SVG}circle":
        yield from ((at["cx"] + way * at["r"], at["cy"] + way * at["r"]) for way in (-1, 1))
    elif part.tag == f"{SVG}text":
        yield at["x"], at["y"]
    elif part.tag == f"{SVG}path":
        for line in re.findall(r"M[^M]*", part.attrib["d"]):
            numbers = [int(number) for number in re.findall(r"-?\d+", line)]
            x = y = 0
            for dx, dy in zip(numbers[::2], numbers[1::2], strict=True):
                x, y = x + dx, y + dy
                yield x, y


def outside(content: bytes) -> list[str]:
    """Elements that reach beyond the viewBox; ElementTree.ParseError where it is no XML."""
    root = ElementTree.fromstring(content)
    _, _, width, height = (int(number) for number in root.attrib["viewBox"].split())
    return [
        ElementTree.tostring(part, encoding="unicode")
        for part in root
        if any(not (0 <= x <= width and 0 <= y <= height) for x, y in points_of(part))
    ]


def test_the_golden_picture() -> None:
    """`python -m tests.post.pictures` writes it anew."""
    assert soil_svg(a_small_picture()) == (GOLDEN / "soil.svg").read_bytes()


def test_it_says_in_words_what_it_shows() -> None:
    root = ElementTree.fromstring(soil_svg(a_small_picture()))
    assert (root.attrib["role"], root.attrib["aria-labelledby"]) == ("img", "t d")
    title, description = root[0], root[1]
    assert (title.attrib["id"], title.text) == ("t", "Soil at 10 cm, Back lawn; beside the pond & north")
    assert description.attrib["id"] == "d"
    assert description.text == (
        "Estimated daily soil temperature from 6 April 2026 to 30 April 2026."
        " The newest is 11.5 °C on 21 April 2026 (8 in 10: 9.6 to 13.4 °C)."
        " The coldest was 8.5 °C on 6 April 2026, the warmest 11.7 °C on 22 April 2026."
        " On 2 days between them there is none."
        " On 3 days the weather was missing and was filled."
        " On 2 days it rests on a forecast."
        " The limit is 10 °C."
        " The window was open 18 April 2026 to 21 April 2026."
        " Ahead, it is at least as likely open as not between 21 April 2026 and 25 April 2026."
        " Likely last open day: 27 April 2026 (8 in 10: 23 April 2026 to 9 May 2026)."
        " Late-winter count done 8 April 2026. Treatment booked 24 April 2026."
    )


def test_the_range_is_that_of_a_normal_value() -> None:
    assert pytest.approx(NormalDist().inv_cdf(0.9), abs=5e-5) == Z_80


def test_a_year_of_days_is_small() -> None:
    first, last = A_YEAR.shown.first, A_YEAR.shown.last
    full = replace(a_small_picture(), shown=Span(first, last), days=a_course(first, 365))
    assert len(full.days_shown) == 365
    assert len(soil_svg(full)) < 12_000


def test_a_hole_is_not_bridged() -> None:
    """Each unbroken run of days is a band of its own, closed."""
    first = A_YEAR.shown.first
    holed = replace(A_YEAR, days=a_course(first, 300, without=(*range(100, 110), 200)))
    band = ElementTree.fromstring(soil_svg(holed)).find(f"{SVG}path[@class='band']")
    assert band is not None
    assert (band.attrib["d"].count("M"), band.attrib["d"].count("z")) == (3, 3)


@st.composite
def some_pictures(draw: st.DrawFn) -> SoilPicture:
    first = draw(st.dates(date(1970, 1, 1), date(2090, 1, 1)))
    shown = Span(first, first + timedelta(days=draw(st.integers(0, 800))))
    around = st.integers(-20, 820).map(lambda back: first + timedelta(days=back))
    days = draw(st.lists(st.builds(a_day, around), max_size=30, unique_by=lambda soil: soil.day))
    spans = draw(st.lists(st.tuples(around, around).map(lambda two: Span(min(two), max(two))), max_size=3))
    chances = draw(st.dictionaries(around, st.floats(0, 1), max_size=5))
    likely = st.none() | st.tuples(*[st.none() | around] * 3).map(in_order)
    return SoilPicture(
        name=draw(st.text(max_size=60)),
        shown=shown,
        today=draw(around),
        days=tuple(
            replace(
                soil,
                mean_10cm_c=draw(st.floats(-40, 60)),
                sd_c=draw(st.floats(0, 20)),
                gap_days=draw(st.integers(0, 2)),
                provenance=draw(st.sampled_from(Provenance)),
            )
            for soil in sorted(days, key=lambda soil: soil.day)
        ),
        limit_c=draw(st.none() | st.floats(0, 20)),
        open_spans=tuple(spans),
        chances=tuple(sorted(chances.items())),
        opening=draw(likely),
        closing=draw(likely),
        visits=tuple(replace(visit, day=draw(around)) for visit in a_small_picture().visits),
    )


def a_day(day: date) -> SoilDay:
    return a_soil_day(day, 10.0)


def in_order(days: tuple[date | None, ...]) -> LikelyDay:
    """Earliest before likely before latest; None, a day beyond, comes last."""
    return LikelyDay(*sorted(days, key=lambda day: (day is None, day or date.min)))


@given(some_pictures())
def test_any_soil_gives_a_picture_that_stays_inside(picture: SoilPicture) -> None:
    content = soil_svg(picture)
    assert outside(content) == []
    assert soil_svg(picture) == content
    assert soil_words(picture).endswith(".")


def luminance(colour: str) -> float:
    """WCAG 2.2, "relative luminance" (its corrected threshold 0.04045)."""
    shares = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    red, green, blue = (one / 12.92 if one <= 0.04045 else ((one + 0.055) / 1.055) ** 2.4 for one in shares)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """WCAG 2.2, "contrast ratio"."""
    darker, lighter = sorted((luminance(one), luminance(other)))
    return (lighter + 0.05) / (darker + 0.05)


@pytest.mark.parametrize("palette", [LIGHT, DARK, PRINT], ids=["light", "dark", "print"])
def test_contrast(palette: Palette) -> None:
    """WCAG 2.2: 4.5 to 1 for text (1.4.3), 3 to 1 for what must be seen to understand (1.4.11)."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21)  # the standard's own bounds, 1 to 21
    for words in (palette.ink, palette.soft):
        assert contrast(words, palette.paper) >= 4.5
        assert contrast(words, palette.zone) >= 4.5
    for mark in (palette.edge, palette.estimate, palette.limit, palette.window, palette.ink, palette.soft):
        assert contrast(mark, palette.paper) >= 3
        assert contrast(mark, palette.zone) >= 3
    for over_the_band in (palette.estimate, palette.limit, palette.soft):
        assert contrast(over_the_band, palette.band) >= 3


def test_marks_differ_without_colour() -> None:
    """WCAG 2.2, 1.4.1: what colour tells, a stroke or a shape tells too."""
    sheet = ElementTree.fromstring(soil_svg(a_small_picture())).findtext(f"{SVG}style") or ""
    strokes = dict(re.findall(r"\.(estimate|filled|forecast|limit){[^}]*stroke-dasharray:([\d ]+)", sheet))
    assert len(set(strokes.values())) == len(strokes) == 3
    assert ".open{fill:url(#hatch)}" in sheet


def opened(browser: Browser, picture: SoilPicture, width: int) -> Page:
    page = browser.new_page(viewport={"width": width, "height": 900})
    page.set_content(f"<body style='margin:0'>{soil_svg(picture).decode()}")
    return page


@pytest.mark.parametrize("width", [320, 390, 1280])
def test_words_stay_apart_and_inside(browser: Browser, width: int) -> None:
    wordy = replace(a_small_picture(), name="W" * 200)
    year = replace(
        wordy,
        name="Back lawn",
        today=A_YEAR.shown.first,
        shown=A_YEAR.shown,
        days=a_course(A_YEAR.shown.first, 365),
    )
    for picture in (a_small_picture(), wordy, replace(wordy, name="庭" * 60), year):
        page = opened(browser, picture, width)
        boxes = page.evaluate(
            "[...document.querySelectorAll('text')].map(one => one.getBoundingClientRect())"
            ".map(box => [box.left, box.top, box.right, box.bottom])"
        )
        assert all(left >= 0 and right <= width for left, _, right, _ in boxes)
        # A line's box holds room above and below its letters: a third of it may lie over the next one's.
        slack = (boxes[0][3] - boxes[0][1]) / 3
        overlapping = [
            (one, other)
            for place, one in enumerate(boxes)
            for other in boxes[place + 1 :]
            if one[0] < other[2]
            and other[0] < one[2]
            and one[1] + slack < other[3]
            and other[1] + slack < one[3]
        ]
        assert overlapping == []
        page.close()


def test_letters_on_a_phone_are_legible(browser: Browser) -> None:
    """At least 12 px on a page 390 px wide whose cards leave 324 px (engineering choice)."""
    page = opened(browser, a_small_picture(), 324)
    size = page.evaluate(
        "parseFloat(getComputedStyle(document.querySelector('text')).fontSize)"
        " * document.querySelector('svg').getScreenCTM().a"
    )
    assert size >= 12
