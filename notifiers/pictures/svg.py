"""Writing SVG by hand: elements, texts and short paths, in whole units."""

from __future__ import annotations

import re
from collections.abc import Sequence
from html import escape

Point = tuple[int, int]

# Characters that XML 1.0 (section 2.2) has no place for, even escaped.
UNWRITABLE = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def written(text: str) -> str:
    """The text with its markup escaped; a character that XML cannot hold becomes U+FFFD."""
    return escape(UNWRITABLE.sub("\ufffd", text))


def element(name: str, content: str = "", /, **attributes: str | int) -> str:
    """One element. `content` is markup; attributes are escaped; a trailing "_" of a name is dropped."""
    told = "".join(
        f' {key.rstrip("_").replace("_", "-")}="{written(str(value))}"' for key, value in attributes.items()
    )
    return f"<{name}{told}>{content}</{name}>" if content else f"<{name}{told}/>"


def label(x: int, y: int, words: str, class_: str = "", anchor: str = "") -> str:
    """A text whose baseline begins at (x, y); `anchor` "middle" or "end" moves it."""
    more = {key: value for key, value in (("class_", class_), ("text_anchor", anchor)) if value}
    return element("text", written(words), x=x, y=y, **more)


def path(points: Sequence[Point], *, closed: bool = False) -> str:
    """The path through `points`, in relative steps: a year of days takes half the bytes."""
    (x, y), rest = points[0], points[1:]
    steps = "".join(
        _short(to[0] - at[0]) + _short(to[1] - at[1]) for at, to in zip(points, rest, strict=False)
    )
    return f"M{x} {y}{'l' + steps.lstrip() if steps else ''}{'z' if closed else ''}"


def _short(step: int) -> str:
    """A minus sign parts numbers by itself."""
    return str(step) if step < 0 else f" {step}"
