"""The lanes below the curve: open days, likely days and visits, each under its day."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import partial
from itertools import groupby

from models.facts.season import LikelyDay
from notifiers.pictures.axes import LEFT, RIGHT, WIDTH, DayAxis
from notifiers.pictures.facts import SoilPicture, visit_look
from notifiers.pictures.svg import Point, element, label, path

Lane = Callable[[int], Iterator[str]]  # draws its marks about the middle of its height

LANE, BAR = 220, 130  # height of a lane, and of what is drawn in it
MARK = 52  # half the width of a mark
TODAY_ROOM = 250  # half the word's width


def draw_lanes(picture: SoilPicture, days: DayAxis, top: int) -> tuple[str, int]:
    """The lanes that have something to show, and where the last one ends."""
    drawn, y = [], top
    for words, lane in _lanes(picture, days):
        middle = y + LANE // 2
        drawn += [label(60, middle + 50, words), *lane(middle)]
        y += LANE
    return "".join(drawn), y


def draw_today(picture: SoilPicture, days: DayAxis, *pieces: tuple[int, int]) -> Iterator[str]:
    """A line where today begins, in pieces that leave the labels of the axis free, if it is shown."""
    if picture.today in picture.shown:
        x = days.start(picture.today)
        line = "".join(path([(x, top), (x, bottom)]) for top, bottom in pieces)
        yield element("path", class_="today", d=line)
        middle = min(max(x, LEFT + TODAY_ROOM), WIDTH - TODAY_ROOM)
        yield label(middle, pieces[0][0] - 30, "today", "soft", "middle")


def visit_mark(x: int, y: int, is_treatment: bool, is_done: bool) -> str:
    """A treatment is round, any other visit square; a done one is full, a booked one hollow."""
    class_ = f"visit {'done' if is_done else 'booked'}"
    if is_treatment:
        return element("circle", class_=class_, cx=x, cy=y, r=MARK)
    return element("rect", class_=class_, x=x - MARK, y=y - MARK, width=2 * MARK, height=2 * MARK)


def _lanes(picture: SoilPicture, days: DayAxis) -> Iterator[tuple[str, Lane]]:
    if picture.spans_shown:
        yield "open", partial(_open, picture, days)
    if picture.chances_shown:
        yield "likely", partial(_chances, picture, days)
    for turn, likely in picture.likely_shown:
        yield turn, partial(_range, likely, days)
    if picture.visits_shown:
        yield "visits", partial(_visits, picture, days)


def _open(picture: SoilPicture, days: DayAxis, middle: int) -> Iterator[str]:
    for span in picture.spans_shown:
        x = days.start(span.first)
        box = {"x": x, "y": middle - BAR // 2, "width": days.end(span.last) - x, "height": BAR}
        yield element("rect", class_="open", **box)


def _chances(picture: SoilPicture, days: DayAxis, middle: int) -> Iterator[str]:
    """The chance of each day as a height: the whole lane's is certain."""
    floor = middle + BAR // 2
    first, last = picture.chances_shown[0][0], picture.chances_shown[-1][0]
    certain = {"x": days.start(first), "y": floor - BAR, "height": BAR}
    yield element("rect", class_="grid", width=days.end(last) - days.start(first), **certain)
    by_run = groupby(enumerate(picture.chances_shown), key=lambda one: one[1][0].toordinal() - one[0])
    for _, run in by_run:
        chances = [one for _, one in run]
        tops = [
            point
            for day, chance in chances
            for y in (floor - round(chance * BAR),)
            for point in ((days.start(day), y), (days.end(day), y))
        ]
        outline: list[Point] = [(tops[0][0], floor), *tops, (tops[-1][0], floor)]
        yield element("path", class_="chance", d=path(outline, closed=True))


def _range(likely: LikelyDay, days: DayAxis, middle: int) -> Iterator[str]:
    """From the earliest day to the latest, with a diamond on the likely one.

    A range whose latest day lies beyond has no tick at that end.
    """
    left = LEFT if likely.earliest is None else days.middle(likely.earliest)
    right = RIGHT
    ticks = [left]
    if likely.latest is not None and likely.latest <= days.shown.last:
        right = days.middle(likely.latest)
        ticks.append(right)
    ends = "".join(path([(x, middle - MARK), (x, middle + MARK)]) for x in ticks)
    yield element("path", class_="range", d=path([(left, middle), (right, middle)]) + ends)
    if likely.likely is not None and likely.likely in days.shown:
        at = days.middle(likely.likely)
        diamond = [(at, middle - MARK), (at + MARK, middle), (at, middle + MARK), (at - MARK, middle)]
        yield element("path", class_="chance", d=path(diamond, closed=True))


def _visits(picture: SoilPicture, days: DayAxis, middle: int) -> Iterator[str]:
    for day, visit in picture.visits_shown:
        yield visit_mark(days.middle(day), middle, *visit_look(visit))
