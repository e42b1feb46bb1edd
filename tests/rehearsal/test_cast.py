"""The cast: some water and say so, some forget, one refuses a day, one leaves; twice told, nothing twice."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from datetime import date, datetime

import pytest

from frontends.commands.rehearsing import mail_folder, open_home
from frontends.wiring import rehearsal_jobs
from models.facts.place import ClientState, Position
from models.facts.post import MessageKind
from models.facts.step import Outcome
from models.facts.work import ProgrammeState, VisitKind, VisitState
from models.store.engine import Store
from models.store.people import load_clients
from models.store.post import load_messages
from models.store.programmes import load_programmes
from models.store.soil import load_soil_days
from models.store.stock import load_batches, load_orders
from models.store.visits import load_changes, load_visits
from models.store.watering import load_watering_days, load_waterings
from models.store.work import load_counts, load_refusals, load_treatments
from notifiers.calendar import render_feed
from scheduler.entries.setup import begin_business
from scheduler.rehearsal.cast import Cast, Manners, manners_of
from scheduler.rehearsal.invented_weather import InventedSite, Spell, write_station_files
from scheduler.rehearsal.owner import Owner
from scheduler.rehearsal.people import Arrival, invented_business, invented_cast
from scheduler.rehearsal.replay import Replay
from scheduler.rehearsal.stations import site_of
from scheduler.weather.station_file import read_stations

PLACE = InventedSite("valley", "Skerravane Mill (invented)", Position(53.95, -11.95), 45.0, sea_km=12.0)
DRY = Spell(date(2020, 9, 1), date(2020, 10, 5), wet_chance=0.1, rain_factor=1.0, warmer_c=0.0)
FIRST, LAST, LEAVES_ON = date(2020, 7, 20), date(2020, 11, 30), date(2020, 11, 10)
ZONE, SEED = "Europe/Dublin", 2


@dataclass
class TwiceTold:
    """A cast that is run a second time at each noon, as after a kill between its acts and the mark."""

    cast: Cast
    name: str = "cast"
    again: dict[date, Outcome] = field(default_factory=dict)

    def run(self, now: datetime) -> Outcome:
        outcome = self.cast.run(now)
        self.again[now.date()] = self.cast.run(now)
        return outcome


@dataclass(frozen=True)
class Season:
    store: Store
    cast: TwiceTold
    arrivals: tuple[Arrival, ...]
    manners: Manners


@pytest.fixture(scope="module")
def season(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Season]:
    """Eight lawns from July to November, all there from the first day, in a dry September."""
    records, home = tmp_path_factory.mktemp("records"), tmp_path_factory.mktemp("home")
    write_station_files(records, [PLACE], date(2018, 1, 1), LAST, 4, (DRY,))
    sites = [site_of(listed) for listed in read_stations(records / "stations.csv")]
    arrivals = tuple(replace(one, on=FIRST) for one in invented_cast(sites, 8, SEED, FIRST, ZONE))
    mailed = [arrival.client.key for arrival in arrivals if arrival.client.email]
    manners = Manners(mailed[0], mailed[1], LEAVES_ON, silent=frozenset({mailed[2]}))
    with open_home(home) as store:
        begin_business(store, invented_business(sites, ZONE), sites)
        owner = Owner(store, render_feed, SEED)
        cast = TwiceTold(Cast(store, render_feed, SEED, manners, owner, arrivals))
        Replay(store, rehearsal_jobs(store, records, mail_folder(home)), cast, ZONE, FIRST, LAST).go()
        yield Season(store, cast, arrivals, manners)


def lawns_of(season: Season, client: str | None) -> set[str]:
    return {lawn.key for one in season.arrivals if one.client.key == client for lawn in one.lawns}


def test_some_water_as_asked_that_morning_and_some_forget(season: Season) -> None:
    with season.store.read() as connection:
        mornings = load_watering_days(connection, FIRST)
        waterings = load_waterings(connection, FIRST)
    asked = {(day.lawn_key, day.day): day.advice_mm for day in mornings if day.advice_mm > 0}
    given = {(watering.lawn_key, watering.day): watering.depth_mm for watering in waterings}

    assert given
    assert set(given) < set(asked)
    assert all(depth_mm == asked[which] for which, depth_mm in given.items())
    never = {lawn for lawn, _ in asked} - {lawn for lawn, _ in given}
    assert lawns_of(season, next(iter(season.manners.silent))) <= never


def test_one_refuses_the_first_booked_day_and_gets_another(season: Season) -> None:
    lawns = lawns_of(season, season.manners.refuses)
    with season.store.read() as connection:
        refusals = load_refusals(connection, FIRST)
        visits = [visit for visit in load_visits(connection) if visit.lawn_key in lawns]
        moved = [
            kept.message
            for kept in load_messages(connection)
            if kept.message.kind is MessageKind.VISIT_MOVED and kept.message.payload["lawn"] in lawns
        ]

    assert [refusal.lawn_key in lawns for refusal in refusals] == [True]
    assert all(visit.day != refusals[0].day for visit in visits)
    assert refusals[0].day.isoformat() in {message.payload["from_day"] for message in moved}
    survey = next(visit for visit in visits if visit.kind is VisitKind.SURVEY)
    assert survey.state is VisitState.DONE


def test_one_leaves_and_nobody_comes_again(season: Season) -> None:
    lawns = lawns_of(season, season.manners.leaves)
    with season.store.read() as connection:
        states = {client.key: client.state for client in load_clients(connection)}
        left = [p for p in load_programmes(connection, tuple(ProgrammeState)) if p.lawn_key in lawns]
        visits = [visit for visit in load_visits(connection) if visit.lawn_key in lawns]

    assert [key for key, state in states.items() if state is ClientState.LEFT] == [season.manners.leaves]
    assert {programme.state for programme in left} == {ProgrammeState.ENDED}
    assert not any(visit.is_open for visit in visits)
    assert any(visit.state is VisitState.CALLED_OFF for visit in visits)


def test_the_owner_records_what_was_booked_with_probe_and_packs(season: Season) -> None:
    with season.store.read() as connection:
        treatments, visits = load_treatments(connection), load_visits(connection)
        soil = {
            day.day: day.mean_10cm_c for day in load_soil_days(connection, ["valley"], FIRST, LAST)["valley"]
        }
        counts, batches = load_counts(connection), load_batches(connection)
        orders = {order.key: order for order in load_orders(connection, open_only=False)}
        booked = {
            (key, change.day)
            for key in {treatment.visit_key for treatment in treatments}
            for change in load_changes(connection, key)
            if change.state is VisitState.BOOKED
        }

    assert len(treatments) >= 6
    assert all((treatment.visit_key, treatment.day) in booked for treatment in treatments)
    for treatment in treatments:
        assert treatment.probe_c is not None
        yesterday = max(day for day in soil if day < treatment.day)
        assert abs(treatment.probe_c - soil[yesterday]) < 2.5  # five standard deviations of the drawn probe
    assert {count.visit_key for count in counts} == {
        v.key for v in visits if v.state is VisitState.DONE and v.kind is VisitKind.FOLLOW_UP
    }
    assert all(orders[batch.order_key].placed_at.date() < batch.delivered_on for batch in batches)
    assert all(batch.delivered_on <= orders[batch.order_key].needed_by for batch in batches)


def test_told_a_second_time_the_cast_has_nothing_to_do(season: Season) -> None:
    again = season.cast.again

    assert len(again) == (LAST - FIRST).days + 1
    assert {day: outcome for day, outcome in again.items() if outcome.changed} == {}


def test_manners_are_the_same_for_the_same_seed() -> None:
    clients = [f"client-{number}" for number in range(12)]

    assert manners_of(clients, 1, FIRST) == manners_of(clients[::-1], 1, FIRST)
    assert len({manners_of(clients, seed, FIRST).refuses for seed in range(20)}) > 5
    assert manners_of(clients, 1, FIRST).refuses != manners_of(clients, 1, FIRST).leaves
