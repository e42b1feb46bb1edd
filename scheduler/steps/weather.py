"""Fetch the weather of every site."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta

from models.clock import local_day
from models.errors import Fault, RefusedInput, WeatherUnavailable
from models.facts.place import Site
from models.facts.step import Outcome
from models.facts.weather import KnownWeatherDay, Provenance, WeatherCredit, WeatherDay
from models.store.credits import save_credits
from models.store.engine import Connection, Store
from models.store.people import load_business, load_sites
from models.store.weather import Words, append_words, last_weather_days, newest_words
from scheduler.weather.plausible import moved_c, sort_out
from scheduler.weather.source import WeatherAnswer, WeatherSource

YEARS_BACK = 12  # what an empty site begins with: the outlook rests on past years
CORRECTED_DAYS = 10  # fetched again, so that a source's corrections arrive as new revisions
FORECAST_DAYS = 9
ONE_DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class Wanted:
    """A site and the days to ask its source for."""

    site: Site
    first: date
    last: date


@dataclass(slots=True)
class Fetched:
    """What the sources gave, by site, and what a person should hear about the fetching."""

    days: dict[str, Sequence[WeatherDay]] = field(default_factory=dict)
    credits: dict[str, Sequence[WeatherCredit]] = field(default_factory=dict)
    said: list[str] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class FetchWeather:
    """Ask each site's source for what is not stored yet; what is stored stays, whatever the answer.

    `forecasts` is asked for the days ahead of every site, beside its own source. Where both forecast a
    day, this one's word is kept; where it gives no answer, the site's own stands.
    """

    store: Store
    sources: Mapping[str, WeatherSource]
    forecasts: WeatherSource | None = None
    name: str = field(default="weather", init=False)

    def run(self, now: datetime) -> Outcome:
        yesterday, wanted = self._wanted(now)
        fetched = self._fetch(wanted, yesterday, now)
        if not fetched.days:
            return Outcome(0, tuple(fetched.said))
        names = {one.site.key: one.site.name for one in wanted}
        with self.store.write() as connection:
            changed, said = _append(connection, fetched, names, now)
        return Outcome(changed, (*fetched.said, *said))

    def _wanted(self, now: datetime) -> tuple[date, tuple[Wanted, ...]]:
        with self.store.read() as connection:
            yesterday = local_day(now, load_business(connection).time_zone) - ONE_DAY
            sites = load_sites(connection)
            stored = last_weather_days(connection)
        last = yesterday + timedelta(days=FORECAST_DAYS)
        return yesterday, tuple(Wanted(site, _first(stored.get(site.key), yesterday), last) for site in sites)

    def _fetch(self, wanted: Sequence[Wanted], yesterday: date, now: datetime) -> Fetched:
        """All sites, one after the other and outside any transaction; one that fails stops no other."""
        fetched = Fetched()
        for one in wanted:
            answers = list(self._answers(one, yesterday, now, fetched.said))
            if not answers:
                continue
            kept, left_out = sort_out(_one_forecast_a_day(answers), yesterday)
            fetched.days[one.site.key] = kept
            fetched.credits[one.site.key] = [credit for each in answers for credit in each.credits]
            said = [sentence for each in answers for sentence in each.said]
            fetched.said.extend(f"{one.site.name}: {sentence}" for sentence in (*said, *left_out))
        return fetched

    def _answers(
        self, one: Wanted, yesterday: date, now: datetime, said: list[str]
    ) -> Iterator[WeatherAnswer]:
        """The answer of the site's own source, then that of the forecasts."""
        try:
            yield self._source(one.site).fetch(one.site, one.first, one.last, now)
        except (WeatherUnavailable, RefusedInput) as error:
            said.append(f"{one.site.name}: no new weather, what was stored stays. {error}")
        if self.forecasts is None:
            return
        try:
            yield _only_forecast(self.forecasts.fetch(one.site, yesterday + ONE_DAY, one.last, now))
        except (WeatherUnavailable, RefusedInput) as error:
            said.append(f"{one.site.name}: no new forecast. {error}")

    def _source(self, site: Site) -> WeatherSource:
        if site.source not in self.sources:
            raise WeatherUnavailable(
                site.source, "no such weather source is set up", f"one of {', '.join(sorted(self.sources))}"
            )
        return self.sources[site.source]


def _first(stored: date | None, yesterday: date) -> date:
    if stored is None:
        return date(yesterday.year - YEARS_BACK, yesterday.month, 1)
    return min(stored, yesterday) + timedelta(days=1 - CORRECTED_DAYS)


def _only_forecast(answer: WeatherAnswer) -> WeatherAnswer:
    days = tuple(day for day in answer.days if day.provenance is Provenance.FORECAST)
    return WeatherAnswer(days, answer.credits, answer.said)


def _one_forecast_a_day(answers: Sequence[WeatherAnswer]) -> list[WeatherDay]:
    """All days in order; where two answers forecast the same day, that of the later one."""
    days = {(day.day, day.provenance): day for answer in answers for day in answer.days}
    return sorted(days.values(), key=lambda day: day.day)


def _append(
    connection: Connection, fetched: Fetched, names: Mapping[str, str], now: datetime
) -> tuple[int, tuple[str, ...]]:
    """Rows appended, and what a person should hear of them."""
    newest = newest_words(connection, fetched.days)
    refused = dict(_refusals(newest, fetched.days))
    accepted = {key: days for key, days in fetched.days.items() if key not in refused}
    appended = append_words(connection, newest, accepted, now)
    save_credits(connection, {key: fetched.credits[key] for key, days in appended.items() if days})
    said = [f"{names[key]}: no new weather, what was stored stays. {error}" for key, error in refused.items()]
    for key, days in appended.items():
        said += [f"{names[key]}: {each}" for each in _changes_of_source(days, _usual(newest, key, days))]
    return sum(map(len, appended.values())), tuple(said)


def _refusals(newest: Words, days: Mapping[str, Sequence[WeatherDay]]) -> Iterator[tuple[str, RefusedInput]]:
    """Sites whose source tells known days so differently that one of its words must be wrong."""
    before: dict[str, list[KnownWeatherDay]] = {}
    for (key, _, _), word in newest.items():
        before.setdefault(key, []).append(word)
    for key, its in days.items():
        by_c = moved_c(its, before.get(key, ()))
        if by_c is not None:
            fault = Fault(
                "temperatures",
                f"days that were known have moved by {by_c:+.1f} °C together",
                "another unit or place? see what the source says; if it is right now, set up a new site",
            )
            yield key, RefusedInput(next(iter(its)).source, [fault])


def _usual(newest: Words, key: str, appended: Sequence[WeatherDay]) -> str | None:
    """What the site's measured days are from: the last that was known, else most of the new ones."""
    known = [
        word.weather
        for (site_key, _, provenance), word in newest.items()
        if site_key == key and provenance == Provenance.MEASURED
    ]
    if known:
        return max(known, key=lambda day: day.day).source
    counted = Counter(day.source for day in appended if day.provenance is Provenance.MEASURED)
    return counted.most_common(1)[0][0] if counted else None


def _changes_of_source(appended: Sequence[WeatherDay], usual: str | None) -> Iterator[str]:
    """Which of the measured days come from elsewhere than is usual, so that no jump goes unmarked."""
    elsewhere: dict[str, list[date]] = {}
    for day in appended:
        if day.provenance is Provenance.MEASURED and day.source != usual:
            elsewhere.setdefault(day.source, []).append(day.day)
    for source, days in elsewhere.items():
        when = f"{days[0]}" if len(days) == 1 else f"{len(days)} days from {days[0]} to {days[-1]}"
        yield f"{when} measured at {source}, other than usual ({usual})"
