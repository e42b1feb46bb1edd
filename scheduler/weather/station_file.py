"""Weather from station files: CSV, one row a day, an empty cell a missing value.

Columns `date`, `temperature_max_c`, `temperature_min_c`, `rain_mm` are required; `wind_m_s`, `sun_h`,
`radiation_mj_m2` and `soil_10cm_c` are read where present; others are left alone.
"""

from __future__ import annotations

import csv
from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from pathlib import Path

from models.clock import require_utc
from models.errors import Fault, NotFound, RefusedInput, WeatherUnavailable
from models.facts.place import Position, Site
from models.facts.weather import WeatherCredit, WeatherDay
from scheduler.weather.source import WeatherAnswer

REQUIRED = ("date", "temperature_max_c", "temperature_min_c", "rain_mm")

# Physical ranges: wider than any day on record in the climates served (engineering choice).
RANGES: Mapping[str, tuple[float, float]] = {
    "temperature_max_c": (-60, 60),
    "temperature_min_c": (-60, 60),
    "rain_mm": (0, 500),
    "wind_m_s": (0, 75),
    "sun_h": (0, 24),
    "radiation_mj_m2": (0, 50),
    "soil_10cm_c": (-30, 50),
}
JUMP_C = 40.0

# No place on Earth is further ahead of UTC, so a day that has ended there has ended everywhere.
FURTHEST_AHEAD = timedelta(hours=14)

Row = tuple[int, list[str]]
Values = dict[str, float | None]


@dataclass(frozen=True, slots=True)
class StationRecord:
    """One file's days in order, and its measured daily mean soil at 10 cm and radiation where it has any."""

    stem: str
    days: tuple[WeatherDay, ...]
    soil_10cm_c: Mapping[date, float]
    radiation_mj_m2: Mapping[date, float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class StationListing:
    """One row of `stations.csv`: where a file's station stands and the span of its record."""

    file: str
    name: str
    position: Position
    elevation_m: float
    first: date
    last: date


def read_station_file(path: Path) -> StationRecord:
    """The record in `path`; RefusedInput with every fault and its line, NotFound without the file."""
    header, rows = _read_rows(path, REQUIRED)
    columns = {name: header.index(name) for name in RANGES if name in header}
    faults: list[Fault] = []
    days: list[WeatherDay] = []
    soil: dict[date, float] = {}
    radiation: dict[date, float] = {}
    source = f"station-file {path.stem}"
    for line, cells in rows:
        parsed = _parse_row(line, cells, header, columns, faults)
        if parsed is None:
            continue
        day, values = parsed
        weather = _weather_day(day, values, source)
        faults.extend(_faults_of_order(line, weather, days[-1] if days else None))
        days.append(weather)
        if (mean_c := values.get("soil_10cm_c")) is not None:
            soil[day] = mean_c
        if (mj_m2 := values.get("radiation_mj_m2")) is not None:
            radiation[day] = mj_m2
    if faults:
        raise RefusedInput(path.name, faults)
    return StationRecord(path.stem, tuple(days), soil, radiation)


def read_stations(path: Path) -> tuple[StationListing, ...]:
    """The listing in `path` (`stations.csv`); RefusedInput with every fault and its line."""
    columns = ("file", "name", "latitude", "longitude", "elevation_m", "first", "last")
    header, rows = _read_rows(path, columns)
    faults: list[Fault] = []
    listings: list[StationListing] = []
    for line, cells in rows:
        if len(cells) != len(header):
            faults.append(_wrong_width(line, cells, header))
            continue
        try:
            listings.append(_listing(dict(zip(header, cells, strict=True))))
        except ValueError as error:
            faults.append(Fault(f"line {line}", str(error), "correct the row"))
    if faults:
        raise RefusedInput(path.name, faults)
    return tuple(listings)


@dataclass(slots=True)
class StationFileSource:
    """Weather source over a directory of station files; a file is read again when it has changed."""

    directory: Path
    name: str = field(default="station-file", init=False)
    _read: dict[str, tuple[tuple[int, int], StationRecord]] = field(
        default_factory=dict, init=False, repr=False
    )

    def fetch(self, site: Site, first: date, last: date, now: datetime) -> WeatherAnswer:
        """The site's days from `first` to `last`, none of which `now` could not know yet.

        `site.source_ref` is the file's stem. WeatherUnavailable without that file.
        """
        over = min(last, (require_utc(now) + FURTHEST_AHEAD).date() - timedelta(days=1))
        record = self.record(site.source_ref)
        begin = bisect_left(record.days, first, key=_day)
        days = record.days[begin : bisect_right(record.days, over, key=_day)]
        credit = WeatherCredit(
            self.name, f"station file {record.stem}", "the terms of its owner hold", commercial=False
        )
        return WeatherAnswer(days, (credit,))

    def record(self, stem: str) -> StationRecord:
        """The file of that stem as it stands now."""
        path = self.directory / f"{stem}.csv"
        if path.name != f"{stem}.csv" or not path.is_file():
            raise WeatherUnavailable(self.name, f"no file {stem}.csv", "put it there or name another station")
        status = path.stat()
        stamp = (status.st_mtime_ns, status.st_size)
        if stem not in self._read or self._read[stem][0] != stamp:
            self._read[stem] = (stamp, read_station_file(path))
        return self._read[stem][1]


def _day(weather: WeatherDay) -> date:
    return weather.day


def _read_rows(path: Path, required: tuple[str, ...]) -> tuple[list[str], Iterator[Row]]:
    if not path.is_file():
        raise NotFound("station file", str(path), "check the path")
    try:
        with path.open(newline="", encoding="utf-8-sig") as lines:
            reader = csv.reader(lines, strict=True)
            numbered = [(reader.line_num, cells) for cells in reader if cells]
    except (UnicodeDecodeError, csv.Error) as error:
        fault = Fault("file", str(error), "save it as CSV in UTF-8")
        raise RefusedInput(path.name, [fault]) from error
    if not numbered:
        raise RefusedInput(path.name, [Fault("line 1", "empty file", f"begin with {','.join(required)}")])
    line, header = numbered[0]
    faults = list(_faults_of_header(line, header, required))
    if faults:
        raise RefusedInput(path.name, faults)
    return header, iter(numbered[1:])


def _faults_of_header(line: int, header: list[str], required: tuple[str, ...]) -> Iterator[Fault]:
    missing = [name for name in required if name not in header]
    if missing:
        yield Fault(
            f"line {line}", f"no column {', '.join(missing)}", f"the header needs {','.join(required)}"
        )
    for name in sorted({name for name in header if header.count(name) > 1}):
        yield Fault(f"line {line}", f"column {name} twice", "keep one of them")


def _parse_row(
    line: int, cells: list[str], header: list[str], columns: Mapping[str, int], faults: list[Fault]
) -> tuple[date, Values] | None:
    """The row's day and values; a value at fault is noted and left out, a row without a day is None."""
    if len(cells) != len(header):
        faults.append(_wrong_width(line, cells, header))
        return None
    values: Values = {}
    for name, column in columns.items():
        try:
            values[name] = _number(name, cells[column])
        except ValueError as error:
            faults.append(Fault(f"line {line}", f"{name} {error}", "correct it, or leave the cell empty"))
    written = cells[header.index("date")]
    try:
        return date.fromisoformat(written), values
    except ValueError:
        faults.append(Fault(f"line {line}", f"date {written!r}", "write it as YYYY-MM-DD"))
        return None


def _number(name: str, written: str) -> float | None:
    if not written:
        return None
    least, most = RANGES[name]
    try:
        value = float(written)
    except ValueError:
        raise ValueError(f"{written!r} is not a number") from None
    if not least <= value <= most:
        raise ValueError(f"{written} is outside {least} to {most}")
    return value


def _weather_day(day: date, values: Values, source: str) -> WeatherDay:
    return WeatherDay(
        day=day,
        temperature_min_c=values.get("temperature_min_c"),
        temperature_max_c=values.get("temperature_max_c"),
        rain_mm=values.get("rain_mm"),
        wind_m_s=values.get("wind_m_s"),
        sun_h=values.get("sun_h"),
        source=source,
    )


def _faults_of_order(line: int, weather: WeatherDay, before: WeatherDay | None) -> Iterator[Fault]:
    """What only shows beside the other values of the row or beside the row before."""
    least, most = weather.temperature_min_c, weather.temperature_max_c
    if least is not None and most is not None and least > most:
        yield Fault(f"line {line}", f"minimum {least} above maximum {most}", "swap them back")
    if before is None:
        return
    if weather.day == before.day:
        yield Fault(f"line {line}", f"day {weather.day} repeated", "keep one row for each day")
    elif weather.day < before.day:
        yield Fault(f"line {line}", f"day {weather.day} after {before.day}", "sort the rows by date")
    elif weather.day - before.day == timedelta(days=1):
        yield from _jumps(line, "minimum", before.temperature_min_c, least)
        yield from _jumps(line, "maximum", before.temperature_max_c, most)


def _jumps(line: int, which: str, before_c: float | None, after_c: float | None) -> Iterator[Fault]:
    if before_c is not None and after_c is not None and abs(after_c - before_c) >= JUMP_C:
        remedy = "correct the wrong one, or leave it empty"
        yield Fault(f"line {line}", f"{which} jumps from {before_c} to {after_c} °C in a day", remedy)


def _wrong_width(line: int, cells: list[str], header: list[str]) -> Fault:
    return Fault(f"line {line}", f"{len(cells)} cells", f"the header has {len(header)}: add or remove cells")


def _listing(row: Mapping[str, str]) -> StationListing:
    return StationListing(
        file=row["file"],
        name=row["name"],
        position=Position(float(row["latitude"]), float(row["longitude"])),
        elevation_m=float(row["elevation_m"]),
        first=date.fromisoformat(row["first"]),
        last=date.fromisoformat(row["last"]),
    )
