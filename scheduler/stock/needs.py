"""What booked treatments will take out of the fridge, by day."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from models.facts.season import Species
from models.facts.work import Visit, VisitKind, VisitState


@dataclass(frozen=True, slots=True)
class Need:
    """Packs of one species for one treatment on `day`."""

    day: date
    visit_key: str
    species: Species
    packs: int


def needs(visits: Iterable[Visit], species: Mapping[str, Species], today: date) -> tuple[Need, ...]:
    """What treatments booked from `today` on need, in order of day and visit; species by programme key."""
    return tuple(
        sorted(
            (
                Need(visit.day, visit.key, species[visit.programme_key], visit.packs)
                for visit in visits
                if visit.kind is VisitKind.TREATMENT
                and visit.state is VisitState.BOOKED
                and visit.day is not None
                and visit.day >= today
                and visit.packs > 0
            ),
            key=lambda need: (need.day, need.visit_key),
        )
    )
