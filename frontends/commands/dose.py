"""`swardtide dose`: packs, water and minutes for an area, by hand."""

from __future__ import annotations

from typing import Annotated

import typer

from frontends.commands.talking import AsJson, say
from models.errors import Fault, RefusedInput
from models.facts.rules import BusinessRules
from models.facts.season import Pest, SeasonName

app = typer.Typer(pretty_exceptions_enable=False, add_completion=False)

CAUTIONS = (
    "By the common rules of the trade; the label of the packs, local rules and licensed practice come first.",
    "Gloves on, no dust, children and pets off until watered in, backflow protection at the tap.",
)


@app.command()
def dose(
    area_m2: Annotated[float, typer.Argument(metavar="M2", help="Area of the lawn [m²].")],
    season: Annotated[SeasonName, typer.Option(help="Spring takes the double dose.")] = SeasonName.AUTUMN,
    as_json: AsJson = False,
) -> None:
    """Packs, water and minutes for one treatment against leatherjackets."""
    from models.agronomy.dosing import dose as dose_for
    from models.agronomy.dosing import treatment_minutes

    rules = BusinessRules()
    rule = rules.window_rule(Pest.LEATHERJACKETS, season)
    if rule is None or not 0 < area_m2 < float("inf"):
        raise RefusedInput("dose", [Fault("area", f"{area_m2:g} m²", "give an area above 0 m²")])
    found = dose_for(area_m2, rule.dose_factor, rules.dose)
    minutes = treatment_minutes(found.packs, rules.dose)
    words = [
        f"{area_m2:g} m² in {season}, {rule.dose_factor:g} times the regular dose of {rule.species}:",
        f"  {found.packs} packs, {found.juveniles_per_m2:,.0f} juveniles a m²",
        f"  {found.carry_litres:,.0f} litres to carry them, {minutes} minutes on site",
        f"  {found.wash_in_mm:g} mm straight after: {found.wash_in_litres:,.0f} litres",
        *CAUTIONS,
    ]
    say(words, {"dose": found, "minutes": minutes, "season": season, "cautions": CAUTIONS}, as_json)
