"""Station files: what is read, and that a bad one is refused whole with every line named."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from models.errors import Fault, NotFound, RefusedInput, WeatherUnavailable
from models.facts.place import Position, Site
from models.facts.weather import Provenance, WeatherDay
from scheduler.weather.station_file import (
    StationFileSource,
    StationListing,
    StationRecord,
    read_station_file,
    read_stations,
)

HEADER = "date,temperature_max_c,temperature_min_c,rain_mm"
NOW = datetime(2026, 6, 1, tzinfo=UTC)
VALLEY = Site("valley", "Valley", Position(53.0, -6.0), 40.0, "station-file", "valley")


def a_file(folder: Path, *rows: str, header: str = HEADER, name: str = "valley.csv") -> Path:
    path = folder / name
    path.write_text("\n".join([header, *rows]) + "\n", encoding="utf-8")
    return path


def faults_of(path: Path) -> list[tuple[str, str]]:
    with pytest.raises(RefusedInput) as refused:
        read_station_file(path)
    return [(fault.where, fault.value) for fault in refused.value.faults]


def test_reads_every_known_column_and_leaves_others_alone(tmp_path: Path) -> None:
    header = "date,temperature_max_c,temperature_min_c,rain_mm,sun_h,pet_mm,wind_m_s,soil_10cm_c"
    path = a_file(tmp_path, "2024-03-01,9.5,2,0.4,5.1,0.9,3.25,6.2", "2024-03-02,,,,,,,", header=header)
    assert read_station_file(path) == StationRecord(
        stem="valley",
        days=(
            WeatherDay(
                date(2024, 3, 1), 2.0, 9.5, 0.4, 3.25, 5.1, Provenance.MEASURED, "station-file valley"
            ),
            WeatherDay(date(2024, 3, 2), None, None, None, source="station-file valley"),
        ),
        soil_10cm_c={date(2024, 3, 1): 6.2},
    )


def test_a_byte_order_mark_and_empty_lines_do_no_harm(tmp_path: Path) -> None:
    path = tmp_path / "valley.csv"
    path.write_bytes(f"\ufeff{HEADER}\r\n\r\n2024-03-01,9,2,0\r\n\r\n".encode())
    assert [day.day for day in read_station_file(path).days] == [date(2024, 3, 1)]


@pytest.mark.parametrize(
    ("rows", "expected"),
    [
        (["2024-03-01,9,2,x"], [("line 2", "rain_mm 'x' is not a number")]),
        (["2024-03-01,9,2,nan"], [("line 2", "rain_mm nan is outside 0 to 500")]),
        (["2024-03-01,9,2,-0.1"], [("line 2", "rain_mm -0.1 is outside 0 to 500")]),
        (["2024-03-01,9,2,500.1"], [("line 2", "rain_mm 500.1 is outside 0 to 500")]),
        (["2024-03-01,61,2,0"], [("line 2", "temperature_max_c 61 is outside -60 to 60")]),
        (["2024-03-01,9,-61,0"], [("line 2", "temperature_min_c -61 is outside -60 to 60")]),
        (["2024-03-01,2,9,0"], [("line 2", "minimum 9.0 above maximum 2.0")]),
        (["1/3/2024,9,2,0"], [("line 2", "date '1/3/2024'")]),
        (["2024-03-01,9,2"], [("line 2", "3 cells")]),
        (["2024-03-01,9,2,0,7"], [("line 2", "5 cells")]),
        (["2024-03-01,9,2,0", "2024-03-01,9,2,0"], [("line 3", "day 2024-03-01 repeated")]),
        (["2024-03-02,9,2,0", "2024-03-01,9,2,0"], [("line 3", "day 2024-03-01 after 2024-03-02")]),
        (
            ["2024-03-01,9,-20,0", "2024-03-02,29,20,0"],
            [("line 3", "minimum jumps from -20.0 to 20.0 °C in a day")],
        ),
        (
            ["2024-03-01,45,2,0", "2024-03-02,5,2,0"],
            [("line 3", "maximum jumps from 45.0 to 5.0 °C in a day")],
        ),
    ],
)
def test_each_fault_is_named_with_its_line(
    tmp_path: Path, rows: list[str], expected: list[tuple[str, str]]
) -> None:
    assert faults_of(a_file(tmp_path, *rows)) == expected


def test_all_faults_of_a_file_are_told_at_once(tmp_path: Path) -> None:
    path = a_file(
        tmp_path, "2024-03-01,9,2,0", "2024-03-02,warm,2,wet", "2024-03-02,1,2,0", "2024-03-04,9,2,0"
    )
    assert faults_of(path) == [
        ("line 3", "temperature_max_c 'warm' is not a number"),
        ("line 3", "rain_mm 'wet' is not a number"),
        ("line 4", "minimum 2.0 above maximum 1.0"),
        ("line 4", "day 2024-03-02 repeated"),
    ]


def test_just_under_the_jump_and_across_a_gap_is_taken(tmp_path: Path) -> None:
    path = a_file(tmp_path, "2024-03-01,9,-20,0", "2024-03-02,29,19.9,0", "2024-03-04,29,-21,0")
    assert len(read_station_file(path).days) == 3


def test_soil_out_of_range_is_refused(tmp_path: Path) -> None:
    path = a_file(tmp_path, "2024-03-01,9,2,0,50.5", header=f"{HEADER},soil_10cm_c")
    assert faults_of(path) == [("line 2", "soil_10cm_c 50.5 is outside -30 to 50")]


@pytest.mark.parametrize(
    ("content", "expected"),
    [
        (b"", ("line 1", "empty file")),
        (b"date;temperature_max_c;rain_mm\n", ("line 1", f"no column {HEADER.replace(',', ', ')}")),
        (b"date,temperature_max_c,rain_mm\n", ("line 1", "no column temperature_min_c")),
        (f"{HEADER},rain_mm\n".encode(), ("line 1", "column rain_mm twice")),
        (b'date,"temperature\n', ("file", "unexpected end of data")),
        (f"{HEADER}\n2024-03-01,9,2,\xb0".encode("latin-1"), None),
    ],
)
def test_a_file_that_is_none_is_refused(
    tmp_path: Path, content: bytes, expected: tuple[str, str] | None
) -> None:
    path = tmp_path / "valley.csv"
    path.write_bytes(content)
    faults = faults_of(path)
    assert len(faults) == 1
    assert expected is None or faults[0] == expected


def test_a_missing_file_is_said(tmp_path: Path) -> None:
    with pytest.raises(NotFound, match="station file"):
        read_station_file(tmp_path / "nowhere.csv")


@given(
    st.lists(
        st.tuples(
            st.integers(1, 3),
            st.none() | st.integers(-95, 95),
            st.integers(0, 200),
            st.none() | st.integers(0, 5000),
        )
    )
)
def test_what_was_written_is_read(
    tmp_path_factory: pytest.TempPathFactory, rows: list[tuple[int, int | None, int, int | None]]
) -> None:
    """Tenths of a degree and of a millimetre; the swing stays under the jump that is refused."""
    day, days, lines = date(2020, 1, 1), [], []
    for step, least, range_, rain in rows:
        day += timedelta(step)
        least_c, most_c = (None, None) if least is None else (least / 10, (least + range_) / 10)
        days.append(WeatherDay(day, least_c, most_c, None if rain is None else rain / 10))
        cells = ["" if value is None else str(value) for value in (most_c, least_c, days[-1].rain_mm)]
        lines.append(",".join([day.isoformat(), *cells]))
    record = read_station_file(a_file(tmp_path_factory.mktemp("files"), *lines))
    assert [
        (read.day, read.temperature_min_c, read.temperature_max_c, read.rain_mm) for read in record.days
    ] == [(made.day, made.temperature_min_c, made.temperature_max_c, made.rain_mm) for made in days]


def test_reads_the_listing(tmp_path: Path) -> None:
    header = "file,name,latitude,longitude,elevation_m,first,last,soil_days"
    path = a_file(
        tmp_path, "valley,Valley,53.5,-6.25,71,2005-01-01,2025-09-30,7578", header=header, name="stations.csv"
    )
    assert read_stations(path) == (
        StationListing("valley", "Valley", Position(53.5, -6.25), 71.0, date(2005, 1, 1), date(2025, 9, 30)),
    )


def test_a_bad_listing_is_refused_with_its_lines(tmp_path: Path) -> None:
    header = "file,name,latitude,longitude,elevation_m,first,last"
    path = a_file(
        tmp_path,
        "a,A,north,0,0,2005-01-01,2005-01-02",
        "b,B,91,0,0,2005-01-01,2005-01-02",
        "c,C,50",
        header=header,
        name="stations.csv",
    )
    with pytest.raises(RefusedInput) as refused:
        read_stations(path)
    assert [fault.where for fault in refused.value.faults] == ["line 2", "line 3", "line 4"]
    assert refused.value.faults[2] == Fault("line 4", "3 cells", "the header has 7: add or remove cells")


def test_the_source_gives_the_days_asked_for(tmp_path: Path) -> None:
    a_file(tmp_path, *(f"2024-03-0{n},9,2,{n}" for n in range(1, 8)))
    days = StationFileSource(tmp_path).fetch(VALLEY, date(2024, 3, 2), date(2024, 3, 4), NOW).days
    assert [(weather.day.day, weather.rain_mm) for weather in days] == [(2, 2.0), (3, 3.0), (4, 4.0)]


def test_the_source_keeps_back_what_could_not_be_known(tmp_path: Path) -> None:
    a_file(tmp_path, *(f"2024-03-0{n},9,2,{n}" for n in range(1, 8)))
    now = datetime(2024, 3, 4, 9, tzinfo=UTC)
    days = StationFileSource(tmp_path).fetch(VALLEY, date(2024, 3, 1), date(2024, 3, 7), now).days
    assert days[-1].day == date(2024, 3, 3)


def test_the_source_reads_a_changed_file_again(tmp_path: Path) -> None:
    source = StationFileSource(tmp_path)
    a_file(tmp_path, "2024-03-01,9,2,1")
    assert len(source.fetch(VALLEY, date(2024, 3, 1), date(2024, 3, 7), NOW).days) == 1
    a_file(tmp_path, "2024-03-01,9,2,1", "2024-03-02,9,2,1")
    assert len(source.fetch(VALLEY, date(2024, 3, 1), date(2024, 3, 7), NOW).days) == 2


@pytest.mark.parametrize("stem", ["hill", "", "../valley"])
def test_the_source_says_when_it_has_no_such_file(tmp_path: Path, stem: str) -> None:
    folder = tmp_path / "files"
    folder.mkdir()
    a_file(tmp_path, "2024-03-01,9,2,1")
    site = Site("hill", "Hill", Position(53.0, -6.0), 40.0, "station-file", stem)
    with pytest.raises(WeatherUnavailable, match=r"station-file: no file .*\.csv"):
        StationFileSource(folder).fetch(site, date(2024, 3, 1), date(2024, 3, 2), NOW)
