"""What the picture's marks mean: each with a drawn sample, only those that are there."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from notifiers.pictures.axes import LETTER, WIDTH
from notifiers.pictures.facts import SoilPicture, kind_of, visit_look
from notifiers.pictures.lanes import visit_mark
from notifiers.pictures.svg import element, label, path

Sample = Callable[[int, int], str]  # draws itself at the left and middle of its box

MARGIN, ROW, SAMPLE_WIDTH, APART = 60, 200, 230, 110
MOST_LETTERS = 44
FIRST_WIDE = 0x0600  # scripts beyond Latin, Greek and Cyrillic may take a full square
VISIT_WORDS = {
    (True, True): "treated",
    (True, False): "treatment booked",
    (False, True): "other visit",
    (False, False): "other visit booked",
}


def elided(words: str) -> str:
    """Words that fit on one line at the size of a phone; the whole stands in the picture's title."""
    if sum(map(_letters, words)) <= MOST_LETTERS:
        return words
    kept = [place for place in range(len(words)) if sum(map(_letters, words[:place])) < MOST_LETTERS - 1]
    return f"{words[: kept[-1]]}…"


def _letters(character: str) -> float:
    """How many letters wide a character is, at most: typefaces differ, so the picture keeps room."""
    if ord(character) >= FIRST_WIDE:
        return 2.0
    if character in "MWmw@%":
        return 1.7
    return 1.3 if character.isupper() else 1.0


def draw_legend(picture: SoilPicture, top: int) -> tuple[str, int]:
    """The samples in rows from `top` on, and where the last row ends."""
    x, y, drawn = MARGIN, top, []
    for words, sample in _samples(picture):
        width = SAMPLE_WIDTH + 50 + len(words) * LETTER
        if x + width > WIDTH - MARGIN and x > MARGIN:
            x, y = MARGIN, y + ROW
        drawn += [sample(x, y + ROW // 2), label(x + SAMPLE_WIDTH + 50, y + ROW // 2 + 50, words)]
        x += width + APART
    return "".join(drawn), y + ROW


def _samples(picture: SoilPicture) -> Iterator[tuple[str, Sample]]:
    kinds = {kind_of(soil) for soil in picture.days_shown}
    if kinds:
        yield "estimate", _line("estimate")
        yield "80 % range", _box("band")
    if picture.limit_c is not None:
        yield f"limit {picture.limit_c:g} °C", _line("limit")
    if "filled" in kinds:
        yield "weather missing", _line("estimate filled")
    if "forecast" in kinds:
        yield "from forecast", _line("estimate forecast")
    looks = {visit_look(visit) for _, visit in picture.visits_shown}
    for is_treatment, is_done in sorted(looks, reverse=True):
        yield VISIT_WORDS[is_treatment, is_done], _mark(is_treatment, is_done)


def _line(class_: str) -> Sample:
    return lambda x, y: element("path", class_=class_, d=path([(x, y), (x + SAMPLE_WIDTH, y)]))


def _box(class_: str) -> Sample:
    return lambda x, y: element("rect", class_=class_, x=x, y=y - 60, width=SAMPLE_WIDTH, height=2 * 60)


def _mark(is_treatment: bool, is_done: bool) -> Sample:
    return lambda x, y: visit_mark(x + SAMPLE_WIDTH // 2, y, is_treatment, is_done)
