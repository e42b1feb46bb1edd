"""The invented cast: near its sites, within the bounds asked for, the same each time."""

import math
from datetime import date, timedelta

from models.facts.place import Position, Site
from scheduler.rehearsal.people import invented_cast

FIRST = date(2015, 1, 1)
SITES = (
    Site("east", "East", Position(53.4, -6.2), 70.0, "station-file", "east"),
    Site("south", "South", Position(52.3, -6.5), 60.0, "station-file", "south"),
)


def test_the_same_seed_gives_the_same_cast_and_another_seed_another() -> None:
    cast = invented_cast(SITES, 30, 1, FIRST, "Europe/Dublin")

    assert cast == invented_cast(SITES, 30, 1, FIRST, "Europe/Dublin")
    assert cast != invented_cast(SITES, 30, 2, FIRST, "Europe/Dublin")


def test_lawns_lie_near_their_sites_in_equal_shares() -> None:
    lawns = [
        lawn for arrival in invented_cast(SITES, 30, 1, FIRST, "Europe/Dublin") for lawn in arrival.lawns
    ]
    positions = {site.key: site.position for site in SITES}

    assert len({lawn.key for lawn in lawns}) == 30
    assert [sum(lawn.site_key == site.key for lawn in lawns) for site in SITES] == [15, 15]
    for lawn in lawns:
        site = positions[lawn.site_key]
        north_km = (lawn.position.latitude - site.latitude) * 111.19  # a degree of a meridian on the sphere
        east_km = (lawn.position.longitude - site.longitude) * 111.19 * math.cos(math.radians(site.latitude))
        assert math.hypot(north_km, east_km) < 10.05  # a flat map is good to 0.5 % over 10 km
        assert 60 <= lawn.area_m2 <= 400


def test_some_have_no_tap_no_mail_two_zones_or_two_lawns() -> None:
    cast = invented_cast(SITES, 60, 1, FIRST, "Europe/Dublin")
    lawns = [lawn for arrival in cast for lawn in arrival.lawns]

    assert 0 < sum(lawn.tap_litres_per_minute is None for lawn in lawns) < 20
    assert 0 < sum(arrival.client.email is None for arrival in cast) < 20
    assert 0 < sum(len(lawn.zones) == 2 for lawn in lawns) < 40
    assert len({lawn.texture for lawn in lawns}) == 3
    assert [len(arrival.lawns) for arrival in cast].count(2) == 6


def test_everybody_is_invented_and_joins_over_the_first_months() -> None:
    cast = invented_cast(SITES, 60, 1, FIRST, "Europe/Dublin")
    days = sorted(arrival.on for arrival in cast)

    # RFC 2606, section 2: ".example" is never anybody's domain.
    assert all(arrival.client.email is None or arrival.client.email.endswith(".example") for arrival in cast)
    assert len({arrival.client.key for arrival in cast}) == len(cast)
    assert FIRST <= days[0] < FIRST + timedelta(days=30)
    assert FIRST + timedelta(days=90) < days[-1] <= FIRST + timedelta(days=120)
