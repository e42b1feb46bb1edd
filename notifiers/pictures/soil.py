"""The picture of a place's soil: estimate, its range, the limit, the window, likely dates and visits."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby

from models.facts.weather import SoilDay
from notifiers.pictures.axes import LEFT, RIGHT, WIDTH, DayAxis, DegreeAxis, day_ticks, degree_axis
from notifiers.pictures.facts import SoilPicture, band_c, kind_of
from notifiers.pictures.lanes import draw_lanes, draw_today
from notifiers.pictures.legend import draw_legend, elided
from notifiers.pictures.palette import style
from notifiers.pictures.svg import Point, element, label, path, written
from notifiers.pictures.words import soil_words, title_words

PLOT_HEIGHT = 1500
TITLE_BASELINE, LEGEND_TOP = 190, 250
HATCH = (
    '<defs><pattern id="hatch" width="64" height="64" patternUnits="userSpaceOnUse"'
    ' patternTransform="rotate(45)"><path class="hatch" d="M32 0v64"/></pattern></defs>'
)


def soil_svg(picture: SoilPicture) -> bytes:
    """The picture as an SVG document in UTF-8, with its title and description for those who do not see it."""
    legend, legend_end = draw_legend(picture, LEGEND_TOP)
    top = legend_end + 190
    days = DayAxis(picture.shown)
    degrees = degree_axis(_values_c(picture), top, top + PLOT_HEIGHT)
    axes, axes_end = _axes(days, degrees)
    lanes, lanes_end = draw_lanes(picture, days, axes_end)
    height = lanes_end + 40
    parts = (
        element("title", written(title_words(picture)), id="t"),
        element("desc", written(soil_words(picture)), id="d"),
        element("style", style()),
        HATCH,
        element("rect", class_="paper", width=WIDTH, height=height),
        label(60, TITLE_BASELINE, elided(title_words(picture)), "title"),
        legend,
        *_zones(picture, days, degrees),
        axes,
        *_soil(picture, days, degrees),
        *_limit(picture, degrees),
        *draw_today(picture, days, (degrees.top - 30, degrees.bottom), (axes_end, lanes_end)),
        lanes,
    )
    return _document(height, "".join(parts)).encode()


def _document(height: int, content: str) -> str:
    named = {"role": "img", "aria_labelledby": "t d", "lang": "en"}
    return (
        element("svg", content, xmlns="http://www.w3.org/2000/svg", viewBox=f"0 0 {WIDTH} {height}", **named)
        + "\n"
    )


def _values_c(picture: SoilPicture) -> list[float]:
    """All that must be seen: the limit with a degree about it, and a usual range where nothing is known."""
    values = [edge for soil in picture.days_shown for edge in band_c(soil)] or [0.0, 20.0]
    return values if picture.limit_c is None else [*values, picture.limit_c - 1, picture.limit_c + 1]


def _axes(days: DayAxis, degrees: DegreeAxis) -> tuple[str, int]:
    """Grid, ticks and their labels, and where they end below."""
    lines = [path([(LEFT, degrees.y(tick)), (RIGHT, degrees.y(tick))]) for tick in degrees.ticks()]
    unit = {degrees.high: " °C"}
    marks = [
        label(LEFT - 50, degrees.y(tick) + 45, f"{tick}{unit.get(tick, '')}".replace("-", "−"), "soft", "end")
        for tick in degrees.ticks()
    ]
    below = degrees.bottom + 180
    ticks = day_ticks(days)
    for tick in ticks:
        x = days.start(tick.day)
        lines.append(path([(x, degrees.top), (x, degrees.bottom + 60)]))
        marks.append(label(x, below, tick.words, "soft"))
        if tick.year:
            marks.append(label(x, below + 160, tick.year, "soft"))
    end = below + (160 if any(tick.year for tick in ticks) else 0) + 60
    return element("path", class_="grid", d="".join(lines)) + "".join(marks), end


def _zones(picture: SoilPicture, days: DayAxis, degrees: DegreeAxis) -> Iterator[str]:
    """Open days behind the curve, so that an eye can follow them down to their lane."""
    for span in picture.spans_shown:
        x = days.start(span.first)
        box = {"x": x, "y": degrees.top, "width": days.end(span.last) - x, "height": PLOT_HEIGHT}
        yield element("rect", class_="zone", **box)


def _soil(picture: SoilPicture, days: DayAxis, degrees: DegreeAxis) -> Iterator[str]:
    runs = list(_unbroken(picture.days_shown))
    if not runs:
        middle = (3 * degrees.top + degrees.bottom) // 4
        yield label((LEFT + RIGHT) // 2, middle, "no estimate for these days", "soft", "middle")
        return
    yield element("path", class_="band", d="".join(_band(run, days, degrees) for run in runs))
    drawn = [(kind, path(line)) for run in runs for kind, line in _lines(run, days, degrees)]
    for kind in ("", "filled", "forecast"):
        if lines := "".join(line for its, line in drawn if its == kind):
            yield element("path", class_=f"estimate {kind}".strip(), d=lines)


def _unbroken(soil: Sequence[SoilDay]) -> Iterator[tuple[SoilDay, ...]]:
    """Runs of days that follow each other."""
    by_run = groupby(enumerate(soil), key=lambda one: one[1].day.toordinal() - one[0])
    return (tuple(day for _, day in run) for _, run in by_run)


def _band(run: Sequence[SoilDay], days: DayAxis, degrees: DegreeAxis) -> str:
    upper, lower = _edge(run, 1, days, degrees), _edge(run, 0, days, degrees)
    return path([*upper, *reversed(lower)], closed=True)


def _edge(run: Sequence[SoilDay], which: int, days: DayAxis, degrees: DegreeAxis) -> list[Point]:
    """The lower (0) or upper (1) edge, from the beginning of the first day to the end of the last."""
    inner = [(days.middle(soil.day), degrees.y(band_c(soil)[which])) for soil in run]
    return [(days.start(run[0].day), inner[0][1]), *inner, (days.end(run[-1].day), inner[-1][1])]


def _lines(
    run: Sequence[SoilDay], days: DayAxis, degrees: DegreeAxis
) -> Iterator[tuple[str, Sequence[Point]]]:
    """The estimate, cut where its kind changes; a stretch begins at the day before it."""
    points = [(days.middle(soil.day), degrees.y(soil.mean_10cm_c)) for soil in run]
    if len(run) == 1:
        soil, y = run[0], points[0][1]
        yield kind_of(soil), [(days.start(soil.day), y), (days.end(soil.day), y)]
    stretches = groupby(range(1, len(run)), key=lambda place: kind_of(run[place]))
    for kind, places in stretches:
        inner = list(places)
        yield kind, points[inner[0] - 1 : inner[-1] + 1]


def _limit(picture: SoilPicture, degrees: DegreeAxis) -> Iterator[str]:
    if picture.limit_c is not None:
        y = degrees.y(picture.limit_c)
        yield element("path", class_="limit", d=path([(LEFT, y), (RIGHT, y)]))
