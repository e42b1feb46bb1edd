"""Nematodes and pests as data: limits and expectations, each with its source and how sure it is.

What a business decides for itself (limits of its windows, doses, thresholds) is in `facts.rules`.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from models.facts.season import Pest, Species


class Certainty(StrEnum):
    SEEN = "text seen"
    MEMORY = "from memory"
    PRACTICE = "common practice"
    CHOICE = "engineering choice"


@dataclass(frozen=True, slots=True)
class Limit:
    """From `low` to `high` in `unit`; None where that side has no limit or none is known."""

    low: float | None
    high: float | None
    unit: str
    source: str
    certainty: Certainty


@dataclass(frozen=True, slots=True)
class Nematode:
    """What is known of one species of nematode, whatever it is used against."""

    species: Species
    infects: Limit
    reproduces: Limit
    mixing_water: Limit
    storage: Limit
    stored: Limit
    use_after_mixing: Limit
    dose: Limit
    wash_in: Limit


@dataclass(frozen=True, slots=True)
class Pairing:
    """What one species does to one pest: shown as a wide band, never as a promise."""

    species: Species
    pest: Pest
    kill: Limit
    window_opens: Limit
    lethal_dose: Limit


S_FELTIAE = Nematode(
    species=Species.S_FELTIAE,
    infects=Limit(
        8, 30, "°C", "Grewal, Selvan & Gaugler 1994, J. Thermal Biol. 19:245-253", Certainty.MEMORY
    ),
    reproduces=Limit(
        10, 25, "°C", "Grewal, Selvan & Gaugler 1994, J. Thermal Biol. 19:245-253", Certainty.MEMORY
    ),
    mixing_water=Limit(None, 30, "°C", "G. Jagdale, nematode information pages", Certainty.SEEN),
    storage=Limit(2, 8, "°C", "practice of suppliers", Certainty.PRACTICE),
    stored=Limit(21, 42, "days", "printed best before, 3 to 6 weeks", Certainty.PRACTICE),
    use_after_mixing=Limit(None, 3, "h", "a gardening page; the same day is common", Certainty.SEEN),
    dose=Limit(
        500_000, 1_000_000, "juveniles/m2", "insectconsultancy.nl; twice that in spring", Certainty.SEEN
    ),
    wash_in=Limit(
        6.4, 12.7, "mm", "University of Wisconsin, Midwest Biological Control News", Certainty.SEEN
    ),
)

S_FELTIAE_ON_LEATHERJACKETS = Pairing(
    species=Species.S_FELTIAE,
    pest=Pest.LEATHERJACKETS,
    kill=Limit(13, 90, "%", "Ehlers & Gerwien 1993, Z. PflKrankh. PflSchutz 100:343-353", Certainty.SEEN),
    window_opens=Limit(
        10, None, "°C", "10 cm soil, mean of 7 days; none of the papers says it", Certainty.CHOICE
    ),
    lethal_dose=Limit(
        152,
        None,
        "juveniles/larva",
        "LC50 of late instars, Simard et al. 2006, Biocontrol Sci. Technol. 16:789-801",
        Certainty.SEEN,
    ),
)

NEMATODES = {S_FELTIAE.species: S_FELTIAE}
PAIRINGS = {(Species.S_FELTIAE, Pest.LEATHERJACKETS): S_FELTIAE_ON_LEATHERJACKETS}
