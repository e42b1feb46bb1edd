"""What a picture of the soil shows, in sentences, for those who do not see it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date

from models.facts.season import LikelyDay, Span
from models.facts.weather import SoilDay
from models.units import day_words
from notifiers.pictures.facts import SoilPicture, band_c, kind_of


def title_words(picture: SoilPicture) -> str:
    return f"Soil at 10 cm, {picture.name}"


def soil_words(picture: SoilPicture) -> str:
    """The picture's own words: what the newest estimate is, how the days went, and what lies ahead."""
    return " ".join(f"{sentence}." for sentence in _sentences(picture))


def estimate_words(soil: SoilDay) -> str:
    """One day's estimate with its range, as "14.1 °C on 15 September 2024 (8 in 10: 12.6 to 15.6 °C)"."""
    low, high = band_c(soil)
    on = dated(soil.day)
    return f"{degrees(soil.mean_10cm_c)} °C on {on} (8 in 10: {degrees(low)} to {degrees(high)} °C)"


def newest(days: Sequence[SoilDay], today: date) -> SoilDay:
    """The last of one or more `days` that does not lie ahead; where all do, the first."""
    return next((soil for soil in reversed(days) if soil.day <= today), days[0])


def degrees(value_c: float) -> str:
    """One decimal, with a true minus sign and no minus nought."""
    return f"{round(value_c, 1) + 0.0:.1f}".replace("-", "−")


def dated(day: date) -> str:
    return f"{day_words(day)} {day.year}"


def span_words(span: Span) -> str:
    return dated(span.first) if span.first == span.last else f"{dated(span.first)} to {dated(span.last)}"


def _sentences(picture: SoilPicture) -> Iterator[str]:
    yield f"Estimated daily soil temperature from {span_words(picture.shown)}"
    yield from _soil_sentences(picture.days_shown, picture.today)
    if picture.limit_c is not None:
        yield f"The limit is {picture.limit_c:g} °C"
    if picture.spans_shown:
        yield f"The window was open {', '.join(span_words(span) for span in picture.spans_shown)}"
    likely = [(day, chance) for day, chance in picture.chances_shown if chance >= 0.5]
    if picture.chances_shown:
        yield _likely_words([day for day, _ in likely])
    for turn, one in picture.likely_shown:
        yield _range_words(turn, one)
    for day, visit in picture.visits_shown:
        yield f"{visit.kind.capitalize()} {visit.state} {dated(day)}"


def _soil_sentences(days: Sequence[SoilDay], today: date) -> Iterator[str]:
    if not days:
        yield "There is no estimate for these days"
        return
    coldest = min(days, key=lambda soil: (soil.mean_10cm_c, soil.day))
    warmest = max(days, key=lambda soil: (soil.mean_10cm_c, soil.day))
    yield f"The newest is {estimate_words(newest(days, today))}"
    yield (
        f"The coldest was {degrees(coldest.mean_10cm_c)} °C on {dated(coldest.day)}, "
        f"the warmest {degrees(warmest.mean_10cm_c)} °C on {dated(warmest.day)}"
    )
    between = (days[-1].day - days[0].day).days + 1 - len(days)
    if between:
        yield f"On {_days(between)} between them there is none"
    if filled := sum(kind_of(soil) == "filled" for soil in days):
        yield f"On {_days(filled)} the weather was missing and was filled"
    if ahead := sum(kind_of(soil) == "forecast" for soil in days):
        yield f"On {_days(ahead)} it rests on a forecast"


def _range_words(turn: str, one: LikelyDay) -> str:
    """An 80 % range: the days it lies between, and the likely one."""
    what = "first" if turn == "opens" else "last"
    earliest, likely, latest = ("later or never" if day is None else dated(day) for day in one.days)
    return f"Likely {what} open day: {likely} (8 in 10: {earliest} to {latest})"


def _likely_words(days: Sequence[date]) -> str:
    if not days:
        return "Ahead, no day is more likely open than not"
    return f"Ahead, it is at least as likely open as not between {dated(days[0])} and {dated(days[-1])}"


def _days(many: int) -> str:
    return "1 day" if many == 1 else f"{many} days"
