"""What a rehearsed season came to, in plain words from the records."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import pairwise

from models.clock import local_day
from models.facts.place import Client, ClientState, Lawn, Site
from models.facts.post import MessageKind
from models.facts.season import Season, SeasonName, Turn, Window
from models.facts.stock import Batch
from models.facts.work import GrubCount, Refusal, Treatment, Visit, VisitKind, VisitState
from models.store.engine import Store
from models.store.people import load_business, load_clients, load_lawns, load_sites
from models.store.post import KeptMessage, load_messages
from models.store.stock import load_batches
from models.store.visits import VisitChange, load_changes, load_visits
from models.store.windows import load_windows
from models.store.work import load_counts, load_refusals, load_treatments
from models.units import day_words


@dataclass(frozen=True, slots=True)
class Told:
    """All that the telling rests on, read in one snapshot. `changes` are those of treatment visits."""

    time_zone: str
    sites: Mapping[str, Site]
    clients: Mapping[str, Client]
    lawns: Mapping[str, Lawn]
    windows: Sequence[Window]
    visits: Sequence[Visit]
    changes: Mapping[str, Sequence[VisitChange]]
    treatments: Sequence[Treatment]
    counts: Sequence[GrubCount]
    messages: Sequence[KeptMessage]
    batches: Sequence[Batch]
    refusals: Sequence[Refusal]


def tell(store: Store) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """Headings, each with its sentences; a heading without sentences is left out."""
    told = _read(store)
    parts = (
        ("Windows", _windows(told)),
        ("Treatments", _treatments(told)),
        ("Not treated that day", _not_treated(told)),
        ("Counts", _counts(told)),
        ("Spring rescues", _rescues(told)),
        ("Missed", _missed(told)),
        ("Clients", _clients(told)),
        ("Water", _water(told)),
        ("Packs", _packs(told)),
        ("Mail", _mail(told)),
    )
    return tuple((heading, lines) for heading, each in parts if (lines := tuple(each)))


def _read(store: Store) -> Told:
    with store.read() as connection:
        visits = load_visits(connection)
        treatments = [visit.key for visit in visits if visit.kind is VisitKind.TREATMENT]
        return Told(
            time_zone=load_business(connection).time_zone,
            sites={site.key: site for site in load_sites(connection)},
            clients={client.key: client for client in load_clients(connection)},
            lawns={lawn.key: lawn for lawn in load_lawns(connection)},
            windows=load_windows(connection),
            visits=visits,
            changes={key: load_changes(connection, key) for key in treatments},
            treatments=load_treatments(connection),
            counts=load_counts(connection),
            messages=load_messages(connection),
            batches=load_batches(connection),
            refusals=load_refusals(connection, date.min),
        )


def _windows(told: Told) -> Iterator[str]:
    """One sentence for lawns at a site whose window turned alike."""
    alike: dict[tuple[Season, str, tuple[Turn, ...]], list[Window]] = defaultdict(list)
    for window in sorted(told.windows, key=lambda window: (window.season, window.lawn_key)):
        if window.judged_to is not None:
            alike[window.season, told.lawns[window.lawn_key].site_key, window.turns].append(window)
    for (season, site, turns), windows in alike.items():
        lawns = _some([told.lawns[window.lawn_key].name for window in windows])
        words = _turned(turns) if turns else _end(windows[0].reason)
        yield f"{_begin(season.words)}, {told.sites[site].name}, {lawns}: {words}"


def _turned(turns: Sequence[Turn]) -> str:
    """How it opened first, how often it shut in between, and how it shut last."""
    first, last = turns[0], turns[-1]
    words = f"opened on {day_words(first.day)}, for {_stop(first.reason)}"
    if between := sum(1 for turn in turns[1:-1] if not turn.is_open):
        words += f" Shut {between} {_times(between)} in between."
    return words if last.is_open else f"{words} Shut on {day_words(last.day)}, for {_stop(last.reason)}"


def _treatments(told: Told) -> Iterator[str]:
    for season, treatments in _by_season(told).items():
        days = sorted({treatment.day for treatment in treatments})
        packs = sum(used.packs for treatment in treatments for used in treatment.packs)
        yield (
            f"{_begin(season.words)}: {len(treatments)} lawns with {packs} packs on {len(days)} days, "
            f"{day_words(days[0])} to {day_words(days[-1])}."
        )


def _by_season(told: Told) -> dict[Season, list[Treatment]]:
    seasons = {visit.key: visit.season for visit in told.visits}
    found: dict[Season, list[Treatment]] = defaultdict(list)
    for treatment in told.treatments:
        found[seasons[treatment.visit_key]].append(treatment)
    return found


def _not_treated(told: Told) -> Iterator[str]:
    """Visits that were attended on their day and put off there, with what became of them."""
    visits = {visit.key: visit for visit in told.visits}
    for key, changes in told.changes.items():
        for before, after in pairwise(changes):
            attended = before.day is not None and before.day == local_day(after.changed_at, told.time_zone)
            if attended and before.day is not None and after.state is VisitState.OWED:
                lawn = told.lawns[visits[key].lawn_key].name
                yield f"{lawn}: {_end(after.reason)} {_became(visits[key], told)}"


def _became(visit: Visit, told: Told) -> str:
    treated = next((each for each in told.treatments if each.visit_key == visit.key), None)
    if treated is not None:
        return f"Booked again, and treated on {day_words(treated.day)}."
    return f"Then {visit.state}: {_end(visit.reason)}"


def _counts(told: Told) -> Iterator[str]:
    kinds = {visit.key: visit.kind for visit in told.visits}
    for kind in (VisitKind.FOLLOW_UP, VisitKind.COUNT):
        found = [count.density_per_m2 for count in told.counts if kinds[count.visit_key] is kind]
        if found:
            span = f"{min(found):.0f} to {max(found):.0f} grubs a m²"
            yield f"{_begin(kind)}: {len(found)} {_times(len(found))}, {span}."


def _rescues(told: Told) -> Iterator[str]:
    """What the late-winter counts called for in spring."""
    springs = [
        visit
        for visit in told.visits
        if visit.kind is VisitKind.TREATMENT and visit.season.name is SeasonName.SPRING
    ]
    needed = [visit for visit in springs if visit.state is not VisitState.NOT_NEEDED]
    for visit in needed:
        came = f"{visit.state}{_treated_on(visit, told)}"
        yield f"{told.lawns[visit.lawn_key].name}: {came}. {_why_owed(visit, told)}"
    if not_needed := len(springs) - len(needed):
        yield f"{not_needed} of {len(springs)} lawns need no treatment in spring."


def _why_owed(visit: Visit, told: Told) -> str:
    """The first reason that a visit ever had."""
    return _end(told.changes[visit.key][0].reason)


def _treated_on(visit: Visit, told: Told) -> str:
    for treatment in told.treatments:
        if treatment.visit_key == visit.key:
            packs = sum(used.packs for used in treatment.packs)
            return f" on {day_words(treatment.day)}, {packs} packs on {treatment.area_m2:.0f} m²"
    return ""


def _missed(told: Told) -> Iterator[str]:
    for visit in told.visits:
        if visit.state is VisitState.MISSED:
            yield f"{told.lawns[visit.lawn_key].name}: {_end(visit.reason)}"


def _clients(told: Told) -> Iterator[str]:
    for refusal in told.refusals:
        yield f"{told.lawns[refusal.lawn_key].name}: nobody was to come on {day_words(refusal.day)}."
    for client in told.clients.values():
        if client.state is ClientState.LEFT:
            ended = [v for v in told.visits if v.state is VisitState.CALLED_OFF]
            theirs = [v for v in ended if told.lawns[v.lawn_key].client_key == client.key]
            why = _end(theirs[0].reason) if theirs else ""
            yield f"{client.name} left: {len(theirs)} visits called off. {why}"


def _water(told: Told) -> Iterator[str]:
    asked = [kept.message for kept in told.messages if kept.message.kind is MessageKind.WATER_TODAY]
    if asked:
        days = {message.payload["day"] for message in asked}
        yield f"{len(asked)} times a client was asked to water, on {len(days)} days."
    quiet = len(told.treatments) - len({message.payload["visit"] for message in asked})
    if quiet:
        yield f"After {quiet} of {len(told.treatments)} treatments rain did it all, and nobody was asked."


def _packs(told: Told) -> Iterator[str]:
    bought = sum(batch.packs for batch in told.batches)
    used = sum(pack.packs for treatment in told.treatments for pack in treatment.packs)
    if bought:
        yield f"{bought} bought, {used} used, {bought - used} left over."


def _mail(told: Told) -> Iterator[str]:
    kinds = Counter(kept.message.kind for kept in told.messages)
    yield ", ".join(f"{kind} {kinds[kind]}" for kind in MessageKind if kinds[kind]) + "."
    states = Counter((kept.state, kept.trouble) for kept in told.messages)
    for (state, trouble), count in sorted(states.items()):
        yield f"{count} {state}{f': {trouble}' if trouble else ''}."


def _some(lawns: Sequence[str]) -> str:
    return lawns[0] if len(lawns) == 1 else f"{len(lawns)} lawns"


def _times(count: int) -> str:
    return "time" if count == 1 else "times"


def _begin(words: str) -> str:
    return words[:1].upper() + words[1:]


def _end(sentence: str) -> str:
    return _begin(_stop(sentence))


def _stop(words: str) -> str:
    return words if words.endswith(".") else f"{words}."
