"""What a picture of the soil tells."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from models.facts.season import LikelyDay, Span
from models.facts.weather import Provenance, SoilDay
from models.facts.work import Visit, VisitKind, VisitState

Z_80 = 1.2816  # a normal value is within this many standard deviations in 8 of 10 cases


@dataclass(frozen=True, slots=True)
class SoilPicture:
    """One place's soil over the days `shown`, and what is decided and likely of its window.

    `days` in order; a day that is missing leaves a hole. `chances` are those of days ahead that the
    window is open (0 to 1). What lies outside `shown` is left out of the picture and of its words.
    """

    name: str
    shown: Span
    today: date
    days: tuple[SoilDay, ...]
    limit_c: float | None = None
    open_spans: tuple[Span, ...] = ()
    chances: tuple[tuple[date, float], ...] = ()
    opening: LikelyDay | None = None
    closing: LikelyDay | None = None
    visits: tuple[Visit, ...] = ()

    @property
    def days_shown(self) -> tuple[SoilDay, ...]:
        return tuple(soil for soil in self.days if soil.day in self.shown)

    @property
    def spans_shown(self) -> tuple[Span, ...]:
        """The open spans, cut to the days shown."""
        within = (
            span
            for span in self.open_spans
            if span.first <= self.shown.last and span.last >= self.shown.first
        )
        return tuple(
            Span(max(span.first, self.shown.first), min(span.last, self.shown.last)) for span in within
        )

    @property
    def chances_shown(self) -> tuple[tuple[date, float], ...]:
        return tuple((day, chance) for day, chance in self.chances if day in self.shown)

    @property
    def likely_shown(self) -> tuple[tuple[str, LikelyDay], ...]:
        """ "opens" and "ends" with their ranges, where such a range begins in the picture and is not over."""
        both = (("opens", self.opening), ("ends", self.closing))
        return tuple((turn, likely) for turn, likely in both if likely and self._is_ahead(likely))

    def _is_ahead(self, likely: LikelyDay) -> bool:
        over = likely.latest is not None and likely.latest < self.today
        return likely.earliest is not None and likely.earliest in self.shown and not over

    @property
    def visits_shown(self) -> tuple[tuple[date, Visit], ...]:
        """Visits booked or done, by day."""
        told = (VisitState.BOOKED, VisitState.DONE)
        dated = [(visit.day, visit) for visit in self.visits if visit.day and visit.state in told]
        return tuple(
            sorted((one for one in dated if one[0] in self.shown), key=lambda one: (one[0], one[1].key))
        )


def band_c(soil: SoilDay) -> tuple[float, float]:
    """The range that holds the day's soil in 8 of 10 cases, °C."""
    half = Z_80 * soil.sd_c
    return soil.mean_10cm_c - half, soil.mean_10cm_c + half


def kind_of(soil: SoilDay) -> str:
    """What a day's estimate rests on: "forecast" weather, weather "filled" across a gap, or a record ("")."""
    if soil.provenance is Provenance.FORECAST:
        return "forecast"
    return "filled" if soil.gap_days else ""


def visit_look(visit: Visit) -> tuple[bool, bool]:
    """Whether it is a treatment, and whether it is done: what its mark shows."""
    return visit.kind is VisitKind.TREATMENT, visit.state is VisitState.DONE
