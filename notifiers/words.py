"""Facts in the words people use: days, amounts, kinds of visit. English, whatever the locale."""

from __future__ import annotations

from datetime import date
from math import ceil

from models.facts.work import VisitKind
from models.units import day_words as day_and_month

WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")

VISIT_TITLES = {
    VisitKind.SURVEY: "lawn survey",
    VisitKind.TREATMENT: "lawn treatment",
    VisitKind.FOLLOW_UP: "follow-up check",
    VisitKind.COUNT: "late-winter grub count",
}
VISIT_PURPOSES = {
    VisitKind.SURVEY: "We look at the lawn, measure it and see what lives under it.",
    VisitKind.TREATMENT: (
        "We treat the marked zones with live nematodes and water them in. "
        "Please keep children and pets off until the lawn has been watered in."
    ),
    VisitKind.FOLLOW_UP: "We look at how the lawn has come on since its treatment.",
    VisitKind.COUNT: "We count grubs in samples of the turf, to see whether spring calls for a treatment.",
}


def day_words(iso_day: str) -> str:
    """ "2026-04-14" is "Tuesday 14 April". ValueError where it is no day."""
    day = date.fromisoformat(iso_day)
    return f"{WEEKDAYS[day.weekday()]} {day_and_month(day)}"


def visit_title(kind: str) -> str:
    """What a visit of a `VisitKind` value is called. ValueError where there is no such kind."""
    return VISIT_TITLES[VisitKind(kind)]


def visit_purpose(kind: str) -> str:
    return VISIT_PURPOSES[VisitKind(kind)]


def litres_words(litres: float) -> str:
    """Litres as they can be measured out: to the next 10 above 100."""
    rounded = ceil(litres / 10) * 10 if litres > 100 else ceil(litres)
    return "1 litre" if rounded == 1 else f"{rounded:,} litres"


def minutes_words(minutes: float) -> str:
    """Minutes at a tap: to the next 5 above 20, in hours from two hours on."""
    rounded = ceil(minutes / 5) * 5 if minutes > 20 else ceil(minutes)
    if rounded < 120:
        return "1 minute" if rounded == 1 else f"{rounded} minutes"
    hours, rest = divmod(rounded, 60)
    return f"{hours} hours {rest} minutes" if rest else f"{hours} hours"


def number_words(value: float, decimals: int = 0) -> str:
    """A number without needless zeros: 6.0 is "6", 6.25 at one decimal "6.2", 1250 "1,250"."""
    text = f"{value:,.{decimals}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def packs_words(packs: int) -> str:
    return "1 pack" if packs == 1 else f"{packs:,} packs"


def sentence(text: str) -> str:
    """The text with a capital first letter and a full stop; empty stays empty."""
    told = text.strip()
    if not told:
        return ""
    ended = told if told[-1] in ".!?" else f"{told}."
    return ended[0].upper() + ended[1:]
