"""The `plan` step: what each lawn is owed, which day each visit has, and who is to be told of a change."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime

from models.clock import first_post
from models.facts.post import Message
from models.facts.step import Outcome, RenderFeed
from models.facts.work import ProgrammeState, Visit
from models.store.engine import Connection, Store
from models.store.feeds import refresh_feeds
from models.store.ledger import SEASON_BOOK, claim_revision
from models.store.post import enqueue
from models.store.programmes import Ending, end_programmes
from models.store.visits import save_visits
from scheduler.announcements import visit_messages
from scheduler.booking.changes import changes
from scheduler.booking.greedy import solve
from scheduler.booking.plan import Unplaced
from scheduler.booking.requests import SeasonFacts, pose
from scheduler.programme.owed import finished, owed
from scheduler.steps.again import again_if_stale
from scheduler.steps.season_book import Pages, SeasonBook, read_season_book


@dataclass(frozen=True, slots=True)
class Decision:
    """`revisions`: every new revision of a visit, in order; `endings`: programmes that are over."""

    revisions: tuple[Visit, ...]
    endings: tuple[Ending, ...]
    unplaced: Mapping[str, Unplaced]

    @property
    def after(self) -> tuple[Visit, ...]:
        """The visits that change, as they stand in the end."""
        return tuple({visit.key: visit for visit in self.revisions}.values())


class PlanSeason:
    """Reads the season book, decides outside any transaction, and writes once; nothing changed, no write."""

    name = "plan"

    def __init__(self, store: Store, render_feed: RenderFeed) -> None:
        self.store = store
        self.render_feed = render_feed
        self._pages: Pages | None = None  # of the last morning: most mornings nobody has written since

    def run(self, now: datetime) -> Outcome:
        return again_if_stale(lambda: self._once(now))

    def _once(self, now: datetime) -> Outcome:
        with self.store.read() as connection:
            book = read_season_book(connection, now, self._pages)
        self._pages = book.pages
        decision = decide(book, now)
        if not decision.revisions and not decision.endings:
            return Outcome(0)
        with self.store.write() as connection:
            claim_revision(connection, SEASON_BOOK, book.pages.revision)
            self._save(connection, book, decision, now)
        return Outcome(len(decision.revisions) + len(decision.endings), _said(decision))

    def _save(self, connection: Connection, book: SeasonBook, decision: Decision, now: datetime) -> None:
        save_visits(connection, decision.revisions)
        end_programmes(connection, decision.endings)
        enqueue(connection, _messages(book, decision, now))
        refresh_feeds(connection, _clients_to_show(book, decision), self.render_feed, now, book.today)


def decide(book: SeasonBook, now: datetime) -> Decision:
    """All that changes this morning; the same book and instant give the same decision."""
    changed = _owed(book, now)
    current = {visit.key: visit for visit in (*book.facts.visits, *changed)}
    facts = replace(book.facts, visits=tuple(current.values()))
    plan = solve(pose(facts, book.today, book.business))
    moved = changes(facts.visits, plan, now)
    return Decision((*changed, *moved), _endings(facts, book.today), plan.unplaced)


def _owed(book: SeasonBook, now: datetime) -> tuple[Visit, ...]:
    visits_of = _by_programme(book.facts.visits)
    return tuple(
        visit
        for programme in book.facts.programmes
        for visit in owed(
            programme,
            book.facts.lawns[programme.lawn_key],
            visits_of.get(programme.key, ()),
            book.pages.counts.get(programme.lawn_key, ()),
            book.pages.treatments.get(programme.lawn_key, ()),
            book.today,
            book.business.rules,
            now,
            renewed=programme.lawn_key in book.pages.renewed,
        )
    )


def _endings(facts: SeasonFacts, today: date) -> tuple[Ending, ...]:
    visits_of = _by_programme(facts.visits)
    over = (
        (programme.key, finished(programme, visits_of.get(programme.key, ()), today))
        for programme in facts.programmes
    )
    return tuple(Ending(key, ProgrammeState.FINISHED, reason) for key, reason in over if reason)


def _by_programme(visits: Sequence[Visit]) -> Mapping[str, Sequence[Visit]]:
    found: dict[str, list[Visit]] = defaultdict(list)
    for visit in visits:
        found[visit.programme_key].append(visit)
    return found


def _before(book: SeasonBook) -> Mapping[str, Visit]:
    return {visit.key: visit for visit in book.facts.visits}


def _messages(book: SeasonBook, decision: Decision, now: datetime) -> tuple[Message, ...]:
    lawns = book.facts.lawns
    told = [visit for visit in decision.after if lawns[visit.lawn_key].client_key in book.pages.active]
    not_before = first_post(now, book.business.time_zone)
    return visit_messages(_before(book), told, lawns, now, not_before, book.pages.earlier_days)


def _clients_to_show(book: SeasonBook, decision: Decision) -> frozenset[str]:
    """Clients whose calendar changes: a visit without a day, now and before, is not in it."""
    before = _before(book)
    shown = [
        visit
        for visit in decision.after
        if visit.day is not None or (visit.key in before and before[visit.key].day is not None)
    ]
    return frozenset(book.facts.lawns[visit.lawn_key].client_key for visit in shown)


def _said(decision: Decision) -> tuple[str, ...]:
    """One sentence for each state that visits came to, each programme that ended, each visit without room."""
    states = Counter(visit.state for visit in decision.after)
    unplaced = [f"{key} has no day yet: {why}" for key, why in sorted(decision.unplaced.items())]
    ended = [f"{ending.programme_key}: {ending.reason}" for ending in decision.endings]
    return (*(f"{count} visits {state}" for state, count in sorted(states.items())), *ended, *unplaced)
