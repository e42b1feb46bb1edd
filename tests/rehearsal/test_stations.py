"""Which stations a rehearsal stands on."""

from datetime import date

import pytest

from models.errors import NotFound, RefusedInput
from models.facts.place import Position
from scheduler.rehearsal.stations import choose_stations, named_stations
from scheduler.weather.station_file import StationListing

FROM, TO = date(2015, 1, 1), date(2023, 12, 31)


def station(file: str, latitude: float, longitude: float, last: date = TO) -> StationListing:
    return StationListing(file, file.title(), Position(latitude, longitude), 10.0, FROM, last)


NEAR = station("near", 53.0, -6.0)
NEARER = station("nearer", 53.5, -6.2)
FAR = station("far", 55.0, -8.0)
SHORT = station("short", 53.4, -6.1, date(2020, 12, 31))


def test_one_station_for_each_fifteen_lawns_close_together_and_covering_the_days() -> None:
    listed = [FAR, SHORT, NEARER, NEAR]

    assert choose_stations(listed, FROM, TO, lawns=30) == (NEARER, NEAR)
    assert choose_stations(listed, FROM, TO, lawns=31) == (FAR, NEARER, NEAR)
    assert choose_stations(listed, FROM, TO, lawns=15) == (FAR,)
    assert choose_stations(listed, FROM, TO, lawns=300) == (FAR, NEARER, NEAR)
    assert choose_stations(listed, FROM, date(2020, 12, 31), lawns=30) == (SHORT, NEARER)


def test_days_that_no_file_covers_are_refused() -> None:
    with pytest.raises(RefusedInput, match="no station's file covers them"):
        choose_stations([SHORT], FROM, TO, lawns=3)


def test_named_stations_keep_their_order_and_must_exist_and_cover() -> None:
    assert named_stations([NEAR, FAR], ["far", "near"], FROM, TO) == (FAR, NEAR)
    with pytest.raises(NotFound, match="nowhere"):
        named_stations([NEAR, FAR], ["nowhere"], FROM, TO)
    with pytest.raises(RefusedInput, match="short: 2015-01-01 to 2020-12-31"):
        named_stations([NEAR, SHORT], ["near", "short"], FROM, TO)
