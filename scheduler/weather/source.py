"""What every weather source looks like to the step that fetches."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import Protocol

from models.facts.place import Site
from models.facts.weather import WeatherCredit, WeatherDay


@dataclass(frozen=True, slots=True)
class WeatherAnswer:
    """Days in order, whom they come from, and what a person should hear about them."""

    days: tuple[WeatherDay, ...]
    credits: tuple[WeatherCredit, ...] = ()
    said: tuple[str, ...] = ()


class WeatherSource(Protocol):
    """A place that weather days come from. `name` is what `Site.source` calls it."""

    @property
    def name(self) -> str: ...

    def fetch(self, site: Site, first: date, last: date, now: datetime) -> WeatherAnswer:
        """The site's days from `first` to `last` that could be known at `now`, in order.

        A day without any record is simply absent; `provenance` says measured, modelled or forecast, and
        one day may come once of each. WeatherUnavailable when there is no answer, RefusedInput when the
        answer cannot be used: either way what was stored before stays.
        """
        ...
