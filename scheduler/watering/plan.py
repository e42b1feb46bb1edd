"""What a client should do this morning: the account of the top soil since a treatment, and the advice."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from models.agronomy.moisture import available_water_mm, effective_rain_mm, next_deficit_mm, turf_et_mm
from models.facts.place import Lawn
from models.facts.rules import WateringRules
from models.facts.season import Span
from models.facts.weather import SoilDay
from models.facts.work import Treatment, Watering, WateringDay
from models.units import day_words, litres_for, minutes_at_tap

DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class PastDay:
    """A day's water, mm: rain as it fell, what turf drew, what was given.

    `known` is False for a day whose weather is not on record, so that another stands in for it.
    """

    day: date
    rain_mm: float
    turf_et_mm: float
    watered_mm: float
    known: bool
    weather_revision: int


@dataclass(frozen=True, slots=True)
class Account:
    """The top soil this morning: what is missing of what it can hold, mm, and the days it rests on."""

    deficit_mm: float
    capacity_mm: float
    days: tuple[PastDay, ...]

    @property
    def yesterday(self) -> PastDay:
        return self.days[-1]


def fortnight(treatment: Treatment, rules: WateringRules) -> Span:
    """The mornings on which a client may be asked for water."""
    return Span(treatment.day + DAY, treatment.day + rules.days * DAY)


def plan_morning(
    treatment: Treatment,
    lawn: Lawn,
    soil_days: Sequence[SoilDay],
    waterings: Sequence[Watering],
    day: date,
    rules: WateringRules,
) -> WateringDay | None:
    """The account and the advice for the morning of `day`.

    None outside the fortnight, and where no weather is known from the day of the treatment on.
    Advice is 0 mm while less than `rules.trigger_fraction` of the layer's water is missing.
    """
    if day not in fortnight(treatment, rules):
        return None
    since = Span(treatment.day, day - DAY)
    soil = {one.day: one for one in soil_days if one.day in since}
    if not soil:
        return None
    given_mm = {one.day: one.depth_mm for one in waterings if one.lawn_key == lawn.key}
    state = _account(_past(since, soil, given_mm, rules), lawn, rules)
    advice_mm = _advice_mm(state, rules)
    litres = litres_for(advice_mm, treatment.area_m2)
    tap = lawn.tap_litres_per_minute
    return WateringDay(
        visit_key=treatment.visit_key,
        lawn_key=lawn.key,
        day=day,
        rain_mm=state.yesterday.rain_mm,
        turf_et_mm=state.yesterday.turf_et_mm,
        watered_mm=state.yesterday.watered_mm,
        deficit_mm=state.deficit_mm,
        capacity_mm=state.capacity_mm,
        advice_mm=advice_mm,
        advice_litres=litres,
        advice_minutes=None if tap is None else minutes_at_tap(litres, tap),
        reason=_reason(state, treatment, advice_mm, rules),
        weather_revision=state.yesterday.weather_revision,
    )


def last_rain(
    treatment: Treatment, soil_days: Sequence[SoilDay], day: date, rules: WateringRules
) -> tuple[date, float] | None:
    """Day and millimetres of the last rain before `day` that counted, since the treatment."""
    since = Span(treatment.day, day - DAY)
    counted = [one for one in soil_days if one.day in since and effective_rain_mm(one.rain_mm, rules) > 0]
    return (counted[-1].day, counted[-1].rain_mm) if counted else None


def _past(
    since: Span, soil: Mapping[date, SoilDay], given_mm: Mapping[date, float], rules: WateringRules
) -> tuple[PastDay, ...]:
    """A missing day is taken as dry, drawing as the known day nearest before it (or the first known) did."""
    nearest = soil[min(soil)]
    days = []
    for day in since.days():
        nearest = soil.get(day, nearest)
        known = nearest.day == day
        drawn_mm = turf_et_mm(nearest.reference_et_mm, rules)
        rain_mm = nearest.rain_mm if known else 0.0
        revision = nearest.weather_revision if known else 0
        measured = known and nearest.gap_days == 0 and nearest.rain_gap_days == 0
        days.append(PastDay(day, rain_mm, drawn_mm, given_mm.get(day, 0.0), measured, revision))
    return tuple(days)


def _account(days: tuple[PastDay, ...], lawn: Lawn, rules: WateringRules) -> Account:
    """The day of the treatment ends with nothing missing: it was washed in."""
    capacity_mm = available_water_mm(lawn.texture, rules.layer_m)
    deficit_mm = 0.0
    for past in days[1:]:
        gained_mm = effective_rain_mm(past.rain_mm, rules) + past.watered_mm
        deficit_mm = next_deficit_mm(deficit_mm, past.turf_et_mm, gained_mm, capacity_mm)
    return Account(deficit_mm, capacity_mm, days)


def _advice_mm(state: Account, rules: WateringRules) -> float:
    if state.deficit_mm < rules.trigger_fraction * state.capacity_mm:
        return 0.0
    return max(rules.least_mm, state.deficit_mm)


def _reason(state: Account, treatment: Treatment, advice_mm: float, rules: WateringRules) -> str:
    asked = "water is needed" if advice_mm else "no water is needed"
    layer = f"the top {rules.layer_m * 100:.0f} cm is {state.deficit_mm:.1f} mm short"
    held = f"of the {state.capacity_mm:.1f} mm it can give"
    return f"{asked}: {layer} {held}; {_last_water(state, treatment, rules)}{_guessed(state)}"


def _last_water(state: Account, treatment: Treatment, rules: WateringRules) -> str:
    words = []
    rained = [one for one in state.days if effective_rain_mm(one.rain_mm, rules) > 0]
    if rained:
        words.append(f"the last rain was {rained[-1].rain_mm:.1f} mm on {day_words(rained[-1].day)}")
    else:
        words.append(f"no rain to speak of since the treatment on {day_words(treatment.day)}")
    given = [one for one in state.days if one.watered_mm]
    if given:
        words.append(f"{given[-1].watered_mm:.1f} mm were given on {day_words(given[-1].day)}")
    return ", ".join(words)


def _guessed(state: Account) -> str:
    guessed = sum(not one.known for one in state.days[1:])
    return f" (estimated: days without weather on record: {guessed})" if guessed else ""
