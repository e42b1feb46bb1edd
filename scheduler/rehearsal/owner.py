"""The owner of a rehearsed business: attends what is booked for the day and records what was done."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from models.facts.place import Lawn, Texture
from models.facts.season import Season, SeasonName
from models.facts.step import RenderFeed
from models.facts.work import Visit, VisitKind, VisitState
from models.store.engine import Store
from models.store.people import load_business, load_lawns
from models.store.soil import load_soil_days
from models.store.stock import load_batches
from models.store.visits import load_changes, load_visits
from models.store.windows import windows_of
from models.store.work import load_treatments
from scheduler.entries.count import record_count
from scheduler.entries.survey import record_survey
from scheduler.entries.treatment import PROBE_TOLERANCE_C, not_treated, record_treatment
from scheduler.rehearsal.chance import happens, normal, poisson, uniform

# Four places, 6 x 6 inches: WSU Extension, dig sample for lawns.
METHOD, SAMPLES, SAMPLE_M2 = "four dug squares of 15 cm", 4, 0.0232

# Spread so that late-winter counts fall on both sides of 160 a m2 (Peck et al. 2010: 77 to 829 in turf).
MEDIAN_PER_M2, SPREAD_OF_LAWNS, SPREAD_OF_YEARS = 240.0, 0.6, 0.5
OVER_WINTER, OVER_SPRING = 0.75, 0.55  # up to half are lost by themselves: UC IPM, crane flies

WET_DAYS, WET_MM = timedelta(days=3), 15.0  # clay stands in water after so much rain, once a visit
PROBE_SD_C = 0.5
LOCKED = "the gate was locked and nobody answered"
WET = "the clay stood in water; nothing would have soaked in"


@dataclass(frozen=True, slots=True)
class Owner:
    store: Store
    render_feed: RenderFeed
    seed: int
    locked_once: frozenset[str] = frozenset()  # lawns whose gate is locked at the first attempt to treat
    gate_locked: float = 0.04  # of all attempts

    def attend(self, today: date, now: datetime) -> Iterator[str]:
        """Attend every visit booked for today, one entry each; gives a sentence for each."""
        with self.store.read() as connection:
            booked = load_visits(connection, open_only=True, day_from=today)
            visits = [visit for visit in booked if visit.day == today and visit.state is VisitState.BOOKED]
            lawns = {lawn.key: lawn for lawn in load_lawns(connection)} if visits else {}
        acts: dict[VisitKind, Callable[[Visit, Lawn, date, datetime], str]] = {
            VisitKind.SURVEY: self._survey,
            VisitKind.TREATMENT: self._treat,
            VisitKind.FOLLOW_UP: self._count,
            VisitKind.COUNT: self._count,
        }
        for visit in sorted(visits, key=lambda visit: visit.key):
            yield acts[visit.kind](visit, lawns[visit.lawn_key], today, now)

    def _survey(self, visit: Visit, lawn: Lawn, today: date, now: datetime) -> str:
        record_survey(self.store, self.render_feed, visit.key, today, now)
        return f"{lawn.name}: surveyed"

    def _count(self, visit: Visit, lawn: Lawn, today: date, now: datetime) -> str:
        found = self._found(visit, today)
        record_count(self.store, self.render_feed, visit.key, today, METHOD, SAMPLE_M2, found, now)
        return f"{lawn.name}: {visit.kind}, {sum(found)} grubs"

    def _treat(self, visit: Visit, lawn: Lawn, today: date, now: datetime) -> str:
        probe_c = self._probe_c(lawn, visit, today)
        reason = self._no_go(visit, lawn, probe_c, today) or self._met(visit, lawn, today)
        if reason is not None:
            not_treated(self.store, self.render_feed, visit.key, today, reason, now)
            return f"{lawn.name}: not treated, {reason}"
        record_treatment(self.store, self.render_feed, visit.key, today, probe_c, now)
        return f"{lawn.name}: treated"

    def _no_go(self, visit: Visit, lawn: Lawn, probe_c: float | None, today: date) -> str | None:
        """What the books and the probe say against treating this lawn today, or None."""
        with self.store.read() as connection:
            window = next((w for w in windows_of(connection, lawn.key) if w.season == visit.season), None)
            left = sum(batch.left for batch in load_batches(connection, in_date_on=today))
            rules = load_business(connection).rules
        if window is None or not window.was_open(today):
            return "no window was judged for this lawn" if window is None else window.reason
        rule = rules.window_rule(window.pest, window.season.name)
        if rule is not None and probe_c is not None and probe_c < rule.limit_c - PROBE_TOLERANCE_C:
            return f"the probe read {probe_c} °C, {rule.limit_c - PROBE_TOLERANCE_C:g} °C at least is needed"
        return None if left >= visit.packs else f"{left} packs in date were left, {visit.packs} are needed"

    def _met(self, visit: Visit, lawn: Lawn, today: date) -> str | None:
        """What is met at the lawn that forbids treating it, or None."""
        with self.store.read() as connection:
            before = " ".join(change.reason for change in load_changes(connection, visit.key))
            soil = load_soil_days(connection, [lawn.site_key], today - WET_DAYS, today)[lawn.site_key]
        if lawn.key in self.locked_once and LOCKED not in before:
            return LOCKED
        if happens(self.gate_locked, self.seed, "gate", visit.key, today):
            return LOCKED
        wet = lawn.texture is Texture.CLAY and sum(day.rain_mm for day in soil) >= WET_MM
        return WET if wet and WET not in before else None

    def _probe_c(self, lawn: Lawn, visit: Visit, today: date) -> float | None:
        """A reading near the estimate of the day before."""
        yesterday = today - timedelta(days=1)
        with self.store.read() as connection:
            soil = load_soil_days(connection, [lawn.site_key], yesterday, yesterday)[lawn.site_key]
        if not soil:
            return None
        return round(soil[-1].mean_10cm_c + PROBE_SD_C * normal(self.seed, "probe", visit.key, today), 1)

    def _found(self, visit: Visit, today: date) -> tuple[int, ...]:
        """Grubs in each sample: Poisson around the lawn's density that day."""
        with self.store.read() as connection:
            treated = load_treatments(connection, _generation_begins(visit.season))
        density_per_m2 = self.density_per_m2(visit, today)
        for treatment in treated:
            if treatment.lawn_key == visit.lawn_key:
                density_per_m2 *= 0.3 + 0.6 * uniform(self.seed, "survived", treatment.visit_key)
        return tuple(
            poisson(density_per_m2 * SAMPLE_M2, self.seed, "found", visit.key, today, sample)
            for sample in range(SAMPLES)
        )

    def density_per_m2(self, visit: Visit, today: date) -> float:
        """Grubs a m2 that an untreated lawn has that day: by lawn, by year's brood, fewer as months pass."""
        brood = _generation_begins(visit.season).year
        spread = SPREAD_OF_LAWNS * normal(self.seed, "lawn", visit.lawn_key)
        spread += SPREAD_OF_YEARS * normal(self.seed, "brood", brood)
        density = MEDIAN_PER_M2 * math.exp(spread)
        if visit.season.name is SeasonName.AUTUMN:
            return density
        return density * (OVER_WINTER if today < date(today.year, 4, 1) else OVER_SPRING)


def _generation_begins(season: Season) -> date:
    """Crane flies lay from late August; spring finds the brood of the year before."""
    return date(season.year if season.name is SeasonName.AUTUMN else season.year - 1, 8, 1)
