"""The rules of a business, as data. Defaults are common practice of the trade unless they say otherwise."""

from __future__ import annotations

from dataclasses import dataclass, field

from models.facts.place import Position
from models.facts.season import Pest, SeasonName, Species, WindowRule

COMMON_WINDOWS = (
    WindowRule(
        pest=Pest.LEATHERJACKETS,
        species=Species.S_FELTIAE,
        season=SeasonName.SPRING,
        opens=(4, 15),
        closes=(5, 15),
        limit_c=10.0,
        dose_factor=2.0,
        trailing_days=7,
        source="common practice: mid-April to mid-May, double dose; 10 °C held for a week",
    ),
    WindowRule(
        pest=Pest.LEATHERJACKETS,
        species=Species.S_FELTIAE,
        season=SeasonName.AUTUMN,
        opens=(9, 1),
        closes=(10, 31),
        limit_c=10.0,
        dose_factor=1.0,
        trailing_days=7,
        source="common practice: early September to end of October, regular dose; 10 °C held for a week",
    ),
)


@dataclass(frozen=True, slots=True)
class ProgrammeRules:
    """What a lawn is owed over the years. Days are (month, day)."""

    years: int = 3  # common practice
    survey_within_days: int = 42  # a new lawn is surveyed within this many days (engineering choice)
    late_winter_opens: tuple[int, int] = (2, 1)
    late_winter_closes: tuple[int, int] = (3, 20)
    counts_speak_from: tuple[int, int] = (10, 15)  # Milne et al. 1958: turves tell mid-October to June
    counts_speak_to: tuple[int, int] = (5, 31)
    check_after_days: int = 21  # follow-up check three to five weeks after a treatment: common practice
    check_within_days: int = 35
    record_within_days: int = 3  # a past visit without a record is missed after this (engineering choice)
    treat_per_m2: float = 160.0  # 15 larvae a square foot, home lawns: Michigan State University IPM
    watch_per_m2: float = 100.0  # SRUC: grassland growth loss


@dataclass(frozen=True, slots=True)
class BookingRules:
    working_weekdays: frozenset[int] = frozenset({0, 1, 2, 3, 4})  # Monday is 0
    minutes_a_day: int = 420  # on site and between sites
    notice_days: int = 3
    horizon_days: int = 56
    near_km: float = 12.0  # lawns this near each other go well on one day
    least_chance: float = 0.5  # a likely-open day is at least this likely (engineering choice)
    choice_days: int = 14  # days are given out once this much of a season can be seen (engineering choice)
    travel_km_h: float = 40.0  # on the first local_km of a leg, country and town roads mixed ...
    local_km: float = 20.0
    trunk_km_h: float = 80.0  # ... and beyond them on main roads (engineering choices)
    detour_factor: float = 1.3  # road over great circle: common in transport studies, from memory


@dataclass(frozen=True, slots=True)
class DoseRules:
    pack_m2: float = 100.0  # one pack treats 100 m2 at the regular dose: common practice
    juveniles_per_m2: float = 500_000.0  # 50 million on 100 m2
    dispensing_minutes_per_pack: float = 8.0  # common practice; a bucket test corrects it
    fixed_minutes: float = 20.0  # set-out, zones, mixing: common practice
    carry_litres_per_pack: float = 100.0  # 8 minutes at 10 to 15 L/min is 80 to 120 L
    wash_in_mm: float = 6.0  # 6 to 13 mm straight after: University of Wisconsin; G. Jagdale
    survey_minutes: int = 30
    count_minutes: int = 40


@dataclass(frozen=True, slots=True)
class WateringRules:
    days: int = 14  # two weeks: common practice
    layer_m: float = 0.05
    trigger_fraction: float = 0.5  # of the layer's available water (engineering choice)
    least_mm: float = 5.0  # less than this does not reach 5 cm (engineering choice)
    rain_ignored_mm: float = 2.0  # a day's rain below this stays on the leaves (engineering choice)
    effective_rain: float = 0.8  # engineering choice, FAO/USDA style
    crop_coefficient: float = (
        0.85  # cool-season turf 0.8 to 1.0 of reference: Meyer et al. 1985, FAO-56 table 12
    )


@dataclass(frozen=True, slots=True)
class GroundRules:
    """When ground is too dry, too wet or too cold to treat. Engineering choices throughout."""

    memory_days: int = 75  # the account starts this long before a calendar: longer than a layer remembers
    layer_m: float = 0.20  # most roots of mown turf
    readily_available: float = 0.4  # cool-season turf: FAO-56 table 22, from memory
    dormant_fraction: float = 0.9  # of the layer's available water missing: grass is dormant
    sand_drains_mm_a_day: float = 40.0
    loam_drains_mm_a_day: float = 15.0
    clay_drains_mm_a_day: float = 6.0
    waterlogged_mm: float = 15.0  # standing above field capacity in the layer
    frozen_soil_c: float = 1.0
    frozen_air_c: float = -2.0


@dataclass(frozen=True, slots=True)
class StockRules:
    lead_days: int = 5
    margin_days: int = 2
    order_horizon_days: int = 14
    keeps_days: int = 28  # printed best before, typically 3 to 6 weeks: common practice


@dataclass(frozen=True, slots=True)
class BusinessRules:
    windows: tuple[WindowRule, ...] = COMMON_WINDOWS
    programme: ProgrammeRules = field(default_factory=ProgrammeRules)
    booking: BookingRules = field(default_factory=BookingRules)
    dose: DoseRules = field(default_factory=DoseRules)
    watering: WateringRules = field(default_factory=WateringRules)
    ground: GroundRules = field(default_factory=GroundRules)
    stock: StockRules = field(default_factory=StockRules)

    def window_rule(self, pest: Pest, season: SeasonName) -> WindowRule | None:
        return next((rule for rule in self.windows if rule.pest is pest and rule.season is season), None)


@dataclass(frozen=True, slots=True)
class Business:
    """The business itself: who sends the mail, where the van starts, whose day it is."""

    name: str
    email: str
    phone: str
    base: Position
    time_zone: str
    rules: BusinessRules = field(default_factory=BusinessRules)
