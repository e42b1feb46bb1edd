"""What every weather source looks like to the step that fetches."""

from __future__ import annotations

from datetime import date, datetime
from typing import Protocol

from models.facts.place import Site
from models.facts.weather import WeatherDay


class WeatherSource(Protocol):
    """A place that weather days come from. `name` is what `Site.source` calls it."""

    @property
    def name(self) -> str: ...

    def fetch(self, site: Site, first: date, last: date, now: datetime) -> tuple[WeatherDay, ...]:
        """The site's days from `first` to `last` that could be known at `now`, in order.

        A day without any record is simply absent; `provenance` says measured, modelled or forecast, and
        one day may come once of each. WeatherUnavailable when there is no answer, RefusedInput when the
        answer cannot be used: either way what was stored before stays.
        """
        ...
