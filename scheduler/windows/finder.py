"""When a window opens: each day judged by calendar, soil and ground, and said in a sentence."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from models.facts.place import Texture
from models.facts.rules import BusinessRules
from models.facts.season import Span, Turn, Window, WindowRule
from models.facts.weather import SoilDay
from models.units import day_words
from scheduler.windows.ground import Ground, grounds

DAY = timedelta(days=1)
SHORT_GAP_DAYS = 3  # longer gaps in the weather are said in the reason


@dataclass(frozen=True, slots=True)
class Verdict:
    """Whether a lawn may be treated on a day, and the reason without a full stop.

    `trailing_mean_c` is the mean it rests on (None: not known); `unfit` what is wrong with the ground.
    """

    is_open: bool
    reason: str
    trailing_mean_c: float | None = None
    unfit: str = ""


def trailing_days(
    soil_days: Mapping[date, SoilDay], rule: WindowRule, day: date
) -> tuple[SoilDay, ...] | None:
    """The `rule.trailing_days` whole days before `day`, oldest first; None where one is not known."""
    before = [soil_days.get(day - back * DAY) for back in range(rule.trailing_days, 0, -1)]
    known = tuple(soil for soil in before if soil is not None)
    return known if len(known) == rule.trailing_days else None


def mean_c(days: Sequence[SoilDay]) -> float:
    """Mean of the 10 cm soil over `days`, °C."""
    return sum(soil.mean_10cm_c for soil in days) / len(days)


def judge_day(
    soil_days: Mapping[date, SoilDay], ground: Ground | None, rule: WindowRule, day: date
) -> Verdict:
    """The verdict for `day` on its morning: from the whole days before it alone.

    `ground` is the ground at the end of the day before; None: not known.
    """
    calendar = rule.calendar(day.year)
    if day not in calendar:
        return Verdict(False, _outside(calendar, day))
    trailing = trailing_days(soil_days, rule, day)
    if trailing is None or ground is None:
        return Verdict(False, f"the soil of the {rule.trailing_days} days before is not known")
    mean = mean_c(trailing)
    warm = _warmth(mean, rule) + _gap_words(trailing)
    if mean < rule.limit_c:
        return Verdict(False, f"{warm}; {ground.unfit}" if ground.unfit else warm, mean, ground.unfit)
    if ground.unfit:
        return Verdict(False, f"{ground.unfit}; {warm}", mean, ground.unfit)
    return Verdict(True, warm, mean)


def extend(
    window: Window,
    soil_days: Sequence[SoilDay],
    rule: WindowRule,
    texture: Texture,
    today: date,
    rules: BusinessRules,
) -> Window:
    """`window` with every undecided day of its calendar decided up to `today`, and today's reason.

    `soil_days` are in order, from `rules.ground.memory_days` before the calendar where known. Once the
    calendar is over the window is closed for good on the day after its last, and stays as it is.
    """
    calendar = rule.calendar(window.season.year)
    if window.judged_to is None and today < calendar.first:
        return replace(window, reason=f"not yet: the calendar opens on {day_words(calendar.first)}")
    first = calendar.first if window.judged_to is None else window.judged_to + DAY
    last = min(today, calendar.last + DAY)
    if last < first:
        return window
    verdicts = judge_days(soil_days, rule, texture, Span(first, last), rules)
    decided = replace(window, turns=_turns(window.turns, verdicts), judged_to=last)
    if last in calendar:
        return replace(decided, reason=_told(decided, verdicts[last]))
    if decided.spans:
        return replace(decided, reason=_summary(decided, calendar))
    season = judge_days(soil_days, rule, texture, calendar, rules)
    return replace(decided, reason=f"never opened in {window.season.words}: {_why_never(season, rule)}")


def judge_days(
    soil_days: Sequence[SoilDay], rule: WindowRule, texture: Texture, span: Span, rules: BusinessRules
) -> dict[date, Verdict]:
    """The verdict of every day of `span`."""
    by_day = {soil.day: soil for soil in soil_days}
    ground = grounds(soil_days, texture, rules, Span(span.first - DAY, span.last - DAY))
    return {day: judge_day(by_day, ground.get(day - DAY), rule, day) for day in span.days()}


def _turns(before: tuple[Turn, ...], verdicts: Mapping[date, Verdict]) -> tuple[Turn, ...]:
    turns = list(before)
    for day, verdict in verdicts.items():
        was_open = bool(turns) and turns[-1].is_open
        if verdict.is_open != was_open:
            turns.append(Turn(day, verdict.is_open, verdict.reason))
    return tuple(turns)


def _outside(calendar: Span, day: date) -> str:
    if day < calendar.first:
        return f"the calendar opens on {day_words(calendar.first)}"
    return f"the calendar closed on {day_words(calendar.last)}"


def _warmth(mean: float, rule: WindowRule, when: str = "") -> str:
    """Rounded away from the limit, so that a sentence never shows 10.0 °C for what is just below 10 °C."""
    shown = f"{mean:.1f}"
    if mean < rule.limit_c <= float(shown):
        shown = f"{mean:.2f}" if float(f"{mean:.2f}") < rule.limit_c else f"just below {rule.limit_c:g}"
    verb = f"was {when}" if when else "is"
    return (
        f"the {rule.trailing_days}-day mean of the 10 cm soil {verb} {shown} °C, it needs {rule.limit_c:g} °C"
    )


def _gap_words(trailing: Sequence[SoilDay]) -> str:
    gap_days = max(soil.gap_days for soil in trailing)
    if gap_days <= SHORT_GAP_DAYS:
        return ""
    return f" (an estimate across a gap of {gap_days} days without weather)"


def _told(window: Window, verdict: Verdict) -> str:
    """Today's sentence while the calendar runs."""
    if not window.turns:
        return f"shut: {verdict.reason}"
    since = day_words(window.turns[-1].day)
    return f"{'open' if verdict.is_open else 'shut'} since {since}: {verdict.reason}"


def _summary(window: Window, calendar: Span) -> str:
    """The sentence that stays when the calendar is over: the open spans, and why it opened."""
    spans = ", ".join(_span_words(span) for span in window.spans)
    open_days = sum(len(span.days()) for span in window.spans)
    opened = next(turn for turn in window.turns if turn.is_open)
    return (
        f"over: open on {open_days} of {len(calendar.days())} days ({spans}); "
        f"it opened on {day_words(opened.day)}: {opened.reason}"
    )


def _span_words(span: Span) -> str:
    if span.first == span.last:
        return day_words(span.first)
    return f"{day_words(span.first)} to {day_words(span.last)}"


def _why_never(verdicts: Mapping[date, Verdict], rule: WindowRule) -> str:
    means = {day: v.trailing_mean_c for day, v in verdicts.items() if v.trailing_mean_c is not None}
    if not means:
        return "the soil was not known on any day of its calendar"
    warmest = max(means, key=lambda day: (means[day], day))
    if means[warmest] < rule.limit_c:
        return f"{_warmth(means[warmest], rule, 'at its warmest')}; that was for {day_words(warmest)}"
    warm = [day for day, mean in means.items() if mean >= rule.limit_c]
    unfit = [day for day in warm if verdicts[day].unfit]
    if not unfit:
        return "its days were decided before the weather was known that would have opened it"
    return (
        f"the soil was warm enough on {len(warm)} days, but then the ground was not fit; "
        f"on {day_words(unfit[-1])}: {verdicts[unfit[-1]].unfit}"
    )
