"""A file of clients comes in whole, or not at all and with every fault by its line."""

from __future__ import annotations

from dataclasses import replace

import pytest

from models.errors import RefusedInput
from models.facts.place import Client, Lawn, Position, Texture, Zone
from models.facts.season import Pest
from models.facts.work import Programme
from models.store.engine import Store
from scheduler.entries.client_file import import_clients
from tests.entries.scene import CLIENT, FELTIAE, LAWN, NOW, PROGRAMME, SITE, TODAY, records, set_up

GRUBS = Pest.LEATHERJACKETS
HEADER = (
    "client,name,email,phone,lawn,lawn_name,latitude,longitude,site,texture,zones,tap_l_min,notes,time_zone"
)
FENNA = (
    "fenna,Fenna Gorsewell,fenna@clients.example,+00 0000 000002,gorsewell,Gorsewell,"
    '53.42,-6.23,skerra,loam,front 80; back 60.5,12.5,"gate code, dog",Europe/Dublin'
)
SECOND = (
    "fenna,Fenna Gorsewell,fenna@clients.example,+00 0000 000002,gorsewell-mill,Mill garden,"
    "53.43,-6.22,skerra,clay,lawn 220,,,Europe/Dublin"
)
IVARN = "ivarn,Ivarn Knapweed,,,knapweed,Knapweed,53.38,-6.20,skerra,sand,by the pond 45,8,,"

CLIENTS = (
    Client("fenna", "Fenna Gorsewell", "fenna@clients.example", "+00 0000 000002", "Europe/Dublin"),
    Client("ivarn", "Ivarn Knapweed", None, None, "Europe/Dublin"),
)
GORSEWELL = Lawn(
    key="gorsewell",
    client_key="fenna",
    name="Gorsewell",
    position=Position(53.42, -6.23),
    site_key=SITE.key,
    texture=Texture.LOAM,
    zones=(Zone("front", 80.0), Zone("back", 60.5)),
    tap_litres_per_minute=12.5,
    traits="gate code, dog",
)
MILL = replace(
    GORSEWELL,
    key="gorsewell-mill",
    name="Mill garden",
    position=Position(53.43, -6.22),
    texture=Texture.CLAY,
    zones=(Zone("lawn", 220.0),),
    tap_litres_per_minute=None,
    traits="",
)
KNAPWEED = Lawn(
    key="knapweed",
    client_key="ivarn",
    name="Knapweed",
    position=Position(53.38, -6.20),
    site_key=SITE.key,
    texture=Texture.SAND,
    zones=(Zone("by the pond", 45.0),),
    tap_litres_per_minute=8.0,
)


def a_file(*lines: str, header: str = HEADER) -> str:
    return "\n".join([header, *lines]) + "\n"


def started(lawn_key: str) -> Programme:
    return Programme(f"{lawn_key}/leatherjackets/2024", lawn_key, GRUBS, FELTIAE, TODAY, 3)


def test_a_file_comes_in_with_each_lawn_on_a_programme(store: Store) -> None:
    set_up(store)
    before = records(store)
    assert import_clients(store, a_file(FENNA, SECOND, "", IVARN), GRUBS, TODAY, NOW) == 3
    assert records(store) == replace(
        before,
        revision=before.revision + 1,
        clients=(*CLIENTS, CLIENT),
        lawns=(GORSEWELL, MILL, KNAPWEED, LAWN),
        programmes=(started("gorsewell-mill"), started("gorsewell"), started("knapweed"), PROGRAMME),
    )


@pytest.mark.parametrize(
    "text",
    [
        "\ufeff" + a_file(FENNA),  # as spreadsheets write UTF-8
        a_file(FENNA).replace("\n", "\r\n"),  # RFC 4180, 2.1
    ],
)
def test_files_as_spreadsheets_write_them_come_in(sqlite_store: Store, text: str) -> None:
    set_up(sqlite_store)
    assert import_clients(sqlite_store, text, GRUBS, TODAY, NOW) == 1


def test_columns_may_stand_in_any_order(sqlite_store: Store) -> None:
    set_up(sqlite_store)
    columns = HEADER.split(",")
    cells = IVARN.split(",")
    turned = a_file(",".join(reversed(cells)), header=",".join(reversed(columns)))
    assert import_clients(sqlite_store, turned, GRUBS, TODAY, NOW) == 1
    assert KNAPWEED in records(sqlite_store).lawns


def refused(store: Store, text: str, pest: Pest = GRUBS) -> list[str]:
    """The faults for which a file is refused, as told; and that nothing was imported."""
    before = records(store)
    with pytest.raises(RefusedInput) as refusal:
        import_clients(store, text, pest, TODAY, NOW)
    assert records(store) == before
    return [f"{fault.where}: {fault.value}" for fault in refusal.value.faults]


def test_every_fault_of_a_file_is_named_with_its_line(store: Store) -> None:
    set_up(store)
    text = a_file(
        FENNA,
        "Ébbo,Ebbo,ebbo@,,l2,L2,53.4,-6.2,skerra,loam,a 10,,,",
        "berrin,,berrin@clients.example,,l3,L3,153.4,-6.2,skerra,loam,a 0,,,",
        "corvane,Corvane,,,l4,L4,53.4,west,nowhere,peat,a 10000; b 10001,900,,Moon",
        "fenna,Somebody Else,,,gorsewell,L5,53.4,-6.2,skerra,loam,a ten,nan,,",
        'orla-sorrelby,Orla,,,sorrelby-back,"L6\nBcc: all",53.4,-6.2,skerra,loam,a 5; a 6,,,',
        "quilla,Quilla,,,,L7,53.4,-6.2,skerra,loam,a -5,,,",
    )
    assert refused(store, text) == [
        "line 3, client: 'Ébbo'",
        "line 3, email: 'ebbo@'",
        "line 4, name: ''",
        "line 4, latitude: '153.4'",
        "line 4, zones: 'a 0'",
        "line 5, site: 'nowhere'",
        "line 5, time_zone: 'Moon'",
        "line 5, longitude: 'west'",
        "line 5, texture: 'peat'",
        "line 5, zones: 'a 10000; b 10001'",
        "line 5, tap_l_min: '900'",
        "line 6, zones: 'a ten'",
        "line 6, tap_l_min: 'nan'",
        "line 6, lawn: 'gorsewell'",
        "line 6, client: 'fenna'",
        "line 7, lawn_name: 'L6\\nBcc: all'",
        "line 7, zones: 'a 5; a 6'",
        "line 7, client: 'orla-sorrelby'",
        "line 7, lawn: 'sorrelby-back'",
        "line 9, lawn: ''",
        "line 9, zones: 'a -5'",
    ]


def test_a_lawn_on_the_wrong_side_of_the_meridian_is_refused(sqlite_store: Store) -> None:
    """A lost minus sign puts it 800 km off, under weather that is not its own."""
    set_up(sqlite_store)
    with pytest.raises(RefusedInput) as refused:
        import_clients(sqlite_store, a_file(FENNA.replace("-6.23", "6.23")), GRUBS, TODAY, NOW)
    (fault,) = refused.value.faults
    assert fault.where == "line 2, latitude and longitude"
    assert fault.value == f"53.42, 6.23 is 823 km from {SITE.name}"
    assert fault.remedy == "check its signs and digits, or give a site within 100 km"


def test_the_remedy_is_said(sqlite_store: Store) -> None:
    set_up(sqlite_store)
    with pytest.raises(RefusedInput) as refusal:
        import_clients(sqlite_store, a_file(IVARN, IVARN), GRUBS, TODAY, NOW)
    assert str(refusal.value) == (
        "client file: refused, nothing was changed. 1 fault(s):\n"
        "  line 3, lawn: 'knapweed' - it stands on line 2 already: give each lawn its own key"
    )


def test_a_file_told_twice_is_refused_the_second_time(store: Store) -> None:
    set_up(store)
    import_clients(store, a_file(IVARN), GRUBS, TODAY, NOW)
    assert refused(store, a_file(IVARN)) == ["line 2, client: 'ivarn'", "line 2, lawn: 'knapweed'"]


@pytest.mark.parametrize(
    ("text", "faults"),
    [
        ("", [f"line 1, header: {column} is missing" for column in HEADER.split(",")]),
        (HEADER + "\n", ["line 2: nothing below the header"]),
        (
            a_file(IVARN, header=HEADER.replace("tap_l_min", "tap").replace("notes", "name")),
            [
                "line 1, header: name stands more than once",
                "line 1, header: tap_l_min is missing",
                "line 1, header: notes is missing",
                "line 1, header: 'tap' is no column of this file",
            ],
        ),
        (a_file(IVARN, "one,two"), ["line 3: 2 cells"]),
        (a_file(FENNA, IVARN + ' "'), ["line 3, time_zone: '\"'"]),
        (a_file(IVARN + '"Europe'), ["line 2: unexpected end of data"]),
        (a_file(IVARN.replace("Ivarn K", "Ivarn\x00K")), ["line 2, name: 'Ivarn\\x00Knapweed'"]),
    ],
)
def test_what_is_no_such_table_is_refused(sqlite_store: Store, text: str, faults: list[str]) -> None:
    set_up(sqlite_store)
    assert refused(sqlite_store, text) == faults


def test_a_pest_without_rules_is_refused(sqlite_store: Store) -> None:
    set_up(sqlite_store)
    assert refused(sqlite_store, a_file(IVARN), Pest.CHAFERS) == ["pest: chafers"]
