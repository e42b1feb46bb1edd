"""The business begins, clients join, refuse a day, leave."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest

from models.errors import Fault, NotFound, RefusedInput
from models.facts.place import Client, ClientState, Lawn, Position, Site, Texture, Zone
from models.facts.post import MessageKind
from models.facts.season import Pest
from models.facts.work import Programme, ProgrammeState, Refusal, Visit, VisitState
from models.store.engine import Store
from models.store.ledger import SEASON_BOOK, revision_of
from models.store.people import load_business, load_sites
from models.store.programmes import end_programme
from scheduler.entries.join import join, start_programme
from scheduler.entries.leave import leave
from scheduler.entries.refuse_day import refuse_day
from scheduler.entries.setup import begin_business
from tests.entries.scene import (
    BUSINESS,
    CLIENT,
    FELTIAE,
    LAWN,
    NOW,
    OWED_FOLLOW_UP,
    PROGRAMME,
    SITE,
    TODAY,
    TREATMENT,
    plain_feed,
    records,
    set_up,
)

LATER = NOW + timedelta(hours=3)
SOLD = "The client sold the house"
GRUBS = Pest.LEATHERJACKETS
NEW_CLIENT = Client("ebbo-fallowby", "Ebbo Fallowby", None, "+00 0000 000001", "Europe/Dublin")
NEW_LAWN = Lawn(
    key="fallowby-front",
    client_key=NEW_CLIENT.key,
    name="Fallowby front",
    position=Position(53.39, -6.18),
    site_key=SITE.key,
    texture=Texture.CLAY,
    zones=(Zone("lawn", 120.0),),
    tap_litres_per_minute=None,
    traits="dog in the garden",
)
NEW_PROGRAMME = Programme("fallowby-front/leatherjackets/2024", NEW_LAWN.key, GRUBS, FELTIAE, TODAY, 3)


def _off(visit: Visit) -> Visit:
    return replace(visit, state=VisitState.CALLED_OFF, revision=3, reason=SOLD, changed_at=NOW)


def test_one_who_leaves_hears_once_and_the_rest_is_called_off(store: Store) -> None:
    set_up(store, visits=(TREATMENT, OWED_FOLLOW_UP))
    before = records(store)
    assert leave(store, plain_feed, CLIENT.key, SOLD, NOW)
    after = records(store)
    assert after == replace(
        before,
        revision=before.revision + 1,
        clients=(replace(CLIENT, state=ClientState.LEFT),),
        programmes=(replace(PROGRAMME, state=ProgrammeState.ENDED, reason=SOLD),),
        visits=(_off(OWED_FOLLOW_UP), _off(TREATMENT)),
        messages=after.messages,
        feed="treatment 2024-09-16 rev 3 cancelled",
    )
    (message,) = after.messages
    facts = message.payload
    assert (message.key, message.kind) == (
        f"visit:{TREATMENT.key}:rev3:called-off",
        MessageKind.VISIT_CALLED_OFF,
    )
    assert (facts["from_day"], facts["day"], facts["reason"]) == ("2024-09-16", None, SOLD)


def test_leaving_twice_is_leaving_once(store: Store) -> None:
    set_up(store)
    leave(store, plain_feed, CLIENT.key, SOLD, NOW)
    once = records(store)
    assert not leave(store, plain_feed, CLIENT.key, "Moved away", LATER)
    assert records(store) == once


def test_nobody_unknown_leaves(store: Store) -> None:
    set_up(store)
    with pytest.raises(NotFound, match="client 'nobody' is not known"):
        leave(store, plain_feed, "nobody", SOLD, NOW)


def test_a_day_is_refused_once(store: Store) -> None:
    set_up(store)
    before = records(store)
    refusal = Refusal(LAWN.key, TODAY + timedelta(days=3), NOW)
    assert refuse_day(store, LAWN.key, refusal.day, NOW) == refusal
    assert refuse_day(store, LAWN.key, refusal.day, LATER) == refusal
    assert records(store) == replace(before, revision=before.revision + 1, refusals=(refusal,))


@pytest.mark.parametrize("day", [TODAY - timedelta(days=1), date(2034, 9, 16)])
def test_a_day_that_is_past_or_far_off_is_no_day_to_refuse(store: Store, day: date) -> None:
    set_up(store)
    before = records(store)
    with pytest.raises(RefusedInput, match="name a day"):
        refuse_day(store, LAWN.key, day, NOW)
    assert records(store) == before


def test_a_client_joins_with_a_lawn_on_a_programme(store: Store) -> None:
    set_up(store)
    before = records(store)
    assert join(store, [NEW_CLIENT], [NEW_LAWN], GRUBS, TODAY, NOW) == 1
    assert records(store) == replace(
        before,
        revision=before.revision + 1,
        clients=(NEW_CLIENT, CLIENT),
        lawns=(NEW_LAWN, LAWN),
        programmes=(NEW_PROGRAMME, PROGRAMME),
    )


def test_joining_twice_is_joining_once(store: Store) -> None:
    set_up(store)
    join(store, [NEW_CLIENT], [NEW_LAWN], GRUBS, TODAY, NOW)
    once = records(store)
    assert join(store, [NEW_CLIENT], [NEW_LAWN], GRUBS, TODAY, LATER) == 0
    assert records(store) == once


def test_who_cannot_join_is_told_every_reason(store: Store) -> None:
    set_up(store)
    leave(store, plain_feed, CLIENT.key, SOLD, NOW)
    before = records(store)
    back = replace(CLIENT, name="Orla\tSorrelby", time_zone="Skerravane/Harbour")
    bare = replace(NEW_LAWN, client_key="nobody", site_key="nowhere", zones=())
    with pytest.raises(RefusedInput) as refusal:
        join(store, [back], [bare], Pest.CHAFERS, TODAY, NOW)
    assert [(fault.where, fault.value) for fault in refusal.value.faults] == [
        ("pest", "chafers"),
        ("client orla-sorrelby, name", "'Orla\\tSorrelby'"),
        ("client orla-sorrelby", "left"),
        ("client orla-sorrelby, time zone", "'Skerravane/Harbour'"),
        ("lawn fallowby-front, client", "'nobody'"),
        ("lawn fallowby-front, site", "'nowhere'"),
        ("lawn fallowby-front, zones", "none"),
    ]
    assert records(store) == before


def test_a_lawn_goes_on_with_a_further_programme(store: Store) -> None:
    set_up(store)
    again = date(2027, 3, 1)
    with pytest.raises(RefusedInput, match="still runs"):
        start_programme(store, LAWN.key, GRUBS, again, NOW)
    with store.write() as connection:
        end_programme(connection, PROGRAMME.key, ProgrammeState.FINISHED, "Three years are over")
    assert start_programme(store, LAWN.key, GRUBS, again, NOW)
    once = records(store)
    assert not start_programme(store, LAWN.key, GRUBS, again, LATER)
    assert records(store) == once
    assert [(programme.key, programme.state) for programme in once.programmes] == [
        ("sorrelby-back/leatherjackets/2024", ProgrammeState.FINISHED),
        ("sorrelby-back/leatherjackets/2027", ProgrammeState.ACTIVE),
    ]


def test_two_programmes_of_one_year_are_refused(store: Store) -> None:
    set_up(store)
    with store.write() as connection:
        end_programme(connection, PROGRAMME.key, ProgrammeState.ENDED, "Called off")
    with pytest.raises(RefusedInput) as refusal:
        start_programme(store, LAWN.key, GRUBS, date(2024, 8, 1), NOW)
    assert refusal.value.faults == (
        Fault(f"programme {PROGRAMME.key}", "is ended", "begin the next in a later year"),
    )


def test_a_business_begins_and_told_again_stays_as_it_is(store: Store) -> None:
    begin_business(store, BUSINESS, [SITE])
    begin_business(store, BUSINESS, [SITE])
    with store.read() as connection:
        assert (load_business(connection), load_sites(connection)) == (BUSINESS, (SITE,))
        assert revision_of(connection, SEASON_BOOK) == 1
    begin_business(store, replace(BUSINESS, name="Tarnwhistle Turf & Daughter"), [SITE])
    with store.read() as connection:
        assert load_business(connection).name == "Tarnwhistle Turf & Daughter"


def test_a_business_that_cannot_be_is_refused(store: Store) -> None:
    twice = [SITE, Site("skerra", "Again", Position(0, 0), 0.0, "meteostat")]
    with pytest.raises(RefusedInput) as refusal:
        begin_business(store, replace(BUSINESS, name="Tarn\nwhistle", time_zone="Moon"), twice)
    assert [(fault.where, fault.value) for fault in refusal.value.faults] == [
        ("name of the business", "'Tarn\\nwhistle'"),
        ("time zone", "'Moon'"),
        ("site skerra", "named twice"),
    ]
    with store.read() as connection, pytest.raises(NotFound, match="the business"):
        load_business(connection)
