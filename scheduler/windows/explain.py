"""Why this day: from a booking back through window, soil and weather to the source, in sentences."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from models.facts.place import Lawn, Site
from models.facts.season import Outlook, Window, WindowRule
from models.facts.weather import KnownWeatherDay, SoilDay
from models.facts.work import OPEN_STATES, Visit, VisitKind, VisitState
from scheduler.windows.finder import mean_c
from scheduler.windows.ground import Ground


@dataclass(frozen=True, slots=True)
class Trace:
    """What one answer rests on. `day` is the decided day that soil, ground and weather belong to.

    `trailing` are the whole days before it, `weather` the records beneath them by day; `own` says in
    sentences how the lawn's soil differs from its site's.
    """

    lawn: Lawn
    site: Site
    visit: Visit | None
    window: Window | None = None
    rule: WindowRule | None = None
    outlook: Outlook | None = None
    day: date | None = None
    trailing: tuple[SoilDay, ...] = ()
    ground: Ground | None = None
    weather: Mapping[date, KnownWeatherDay] | None = None
    own: tuple[str, ...] = ()


def visit_meant(visits: Sequence[Visit], today: date) -> Visit | None:
    """The next booked visit; else the last one that had a day; else the first that is owed."""
    dated = sorted((visit for visit in visits if visit.day is not None), key=lambda one: (one.day, one.key))
    ahead = [one for one in dated if one.state is VisitState.BOOKED and one.day and one.day >= today]
    owed = [one for one in visits if one.state in OPEN_STATES]
    if ahead:
        return ahead[0]
    return dated[-1] if dated else next(iter(sorted(owed, key=lambda one: one.allowed)), None)


def window_meant(windows: Sequence[Window], visit: Visit | None) -> Window | None:
    """The window of a treatment's own season; for anything else the newest window there is."""
    if visit is not None and visit.kind is VisitKind.TREATMENT:
        return next((window for window in windows if window.season == visit.season), None)
    return max(windows, key=lambda window: window.season.key, default=None)


def day_meant(window: Window, rule: WindowRule, visit: Visit | None) -> date | None:
    """The decided day to account for: the treatment's own, else the last decided; None before the first."""
    if window.judged_to is None:
        return None
    last = min(window.judged_to, rule.calendar(window.season.year).last)
    treated = visit is not None and visit.kind is VisitKind.TREATMENT and visit.season == window.season
    if treated and visit is not None and visit.day is not None:
        return min(visit.day, last)
    return last


def sentences(trace: Trace) -> tuple[str, ...]:
    """The whole answer, from the booking down to the source of the weather."""
    lines = [
        f"{trace.lawn.name} ({trace.lawn.key}): {trace.lawn.area_m2:g} m² on {trace.lawn.texture}.",
        _visit_words(trace.visit),
        *_window_lines(trace),
        *_soil_lines(trace),
    ]
    return tuple(lines)


def _visit_words(visit: Visit | None) -> str:
    if visit is None:
        return "No visit is owed to it, and none was."
    day = "no day yet" if visit.day is None else visit.day.isoformat()
    what = f"{visit.kind} in {visit.season.words}"
    return f"{what}: {day} ({visit.state}, revision {visit.revision}), because {_stop(visit.reason)}"


def _window_lines(trace: Trace) -> Iterator[str]:
    window = trace.window
    if window is None:
        yield "No window has been judged for it yet."
    else:
        against = f"against {window.pest} with {window.species}"
        yield f"Window of {window.season.words} {against}: {_stop(window.reason)}"
        for turn in window.turns:
            opened = "Opened" if turn.is_open else "Shut"
            yield f"{opened} on {turn.day.isoformat()}: {_stop(turn.reason)}"
    if trace.rule is not None:
        yield f"The rule is {_stop(trace.rule.source)}"
    if trace.outlook is not None:
        yield f"Likely dates: {_stop(trace.outlook.reason)}"


def _soil_lines(trace: Trace) -> Iterator[str]:
    if trace.day is None:
        yield "No day of it is decided yet."
        return
    if not trace.trailing:
        yield f"For {trace.day.isoformat()} the soil of the days before is not on record."
        return
    yield (
        f"For {trace.day.isoformat()} the {len(trace.trailing)} whole days before it count; "
        f"the mean of their estimated 10 cm soil is {mean_c(trace.trailing):.1f} °C:"
    )
    yield from trace.own
    yield from (_day_words(soil, (trace.weather or {}).get(soil.day)) for soil in trace.trailing)
    if trace.ground is not None:
        yield _ground_words(trace.ground)
    yield _source_words(trace)


def _day_words(soil: SoilDay, known: KnownWeatherDay | None) -> str:
    estimate = (
        f"{soil.day.isoformat()}: soil {soil.mean_10cm_c:.1f} °C (standard deviation {soil.sd_c:.1f} °C)"
    )
    return f"{estimate}, {_filled(soil)}{_weather_words(soil, known)}"


def _filled(soil: SoilDay) -> str:
    return f"weather filled across a gap of {soil.gap_days} days, " if soil.gap_days else ""


def _weather_words(soil: SoilDay, known: KnownWeatherDay | None) -> str:
    if known is None:
        return "no weather on record for that day."
    day = known.weather
    newer = "" if known.revision == soil.weather_revision else _newer(soil, known)
    least, most = _number(day.temperature_min_c, "°C"), _number(day.temperature_max_c, "°C")
    return (
        f"from minimum {least}, maximum {most}, rain {_number(day.rain_mm, 'mm')} "
        f"({day.provenance}, revision {known.revision}, "
        f"known at {known.known_at:%Y-%m-%d %H:%M} UTC){newer}."
    )


def _newer(soil: SoilDay, known: KnownWeatherDay) -> str:
    if soil.weather_revision == 0:
        return ""
    return f"; the estimate rests on revision {soil.weather_revision}, {soil.provenance}"


def _ground_words(ground: Ground) -> str:
    state = ground.unfit or "moist, not waterlogged and not frozen"
    short = f"{ground.deficit_mm:.1f} mm short of {ground.capacity_mm:.1f} mm"
    above = f"{ground.surplus_mm:.1f} mm above"
    return f"Ground at the end of {ground.day.isoformat()}: {state} ({short}, {above})."


def _source_words(trace: Trace) -> str:
    sources = sorted({known.weather.source for known in (trace.weather or {}).values()} - {""})
    named = ", ".join(sources) or "none named on its days"
    return (
        f"Weather of site {trace.site.name} ({trace.site.key}) through {trace.site.source}; source: {named}."
    )


def _number(value: float | None, unit: str) -> str:
    return "not given" if value is None else f"{value:.1f} {unit}"


def _stop(sentence: str) -> str:
    return sentence if sentence.endswith(".") else f"{sentence}."
