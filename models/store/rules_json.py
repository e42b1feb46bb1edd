"""The rules of a business to JSON and back."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from models.facts.rules import (
    BookingRules,
    BusinessRules,
    DoseRules,
    GroundRules,
    ProgrammeRules,
    StockRules,
    WateringRules,
)
from models.facts.season import Pest, SeasonName, Species, WindowRule


def rules_to_json(rules: BusinessRules) -> dict[str, Any]:
    plain = asdict(rules)
    plain["booking"]["working_weekdays"] = sorted(rules.booking.working_weekdays)
    return plain


def rules_from_json(plain: dict[str, Any]) -> BusinessRules:
    booking = {**plain["booking"], "working_weekdays": frozenset(plain["booking"]["working_weekdays"])}
    programme: dict[str, Any] = {
        name: tuple(value) if isinstance(value, list) else value for name, value in plain["programme"].items()
    }
    return BusinessRules(
        windows=tuple(_window_rule(rule) for rule in plain["windows"]),
        programme=ProgrammeRules(**programme),
        booking=BookingRules(**booking),
        dose=DoseRules(**plain["dose"]),
        watering=WateringRules(**plain["watering"]),
        ground=GroundRules(**plain["ground"]),
        stock=StockRules(**plain["stock"]),
    )


def _window_rule(plain: dict[str, Any]) -> WindowRule:
    return WindowRule(
        **{
            **plain,
            "pest": Pest(plain["pest"]),
            "species": Species(plain["species"]),
            "season": SeasonName(plain["season"]),
            "opens": (plain["opens"][0], plain["opens"][1]),
            "closes": (plain["closes"][0], plain["closes"][1]),
        }
    )
