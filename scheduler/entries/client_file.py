"""Clients and lawns from a CSV file: all of it, or nothing and every fault by its line.

One line a lawn, with the columns of `client_line.COLUMNS` in any order; a client with more lawns stands
on more lines with the same name, e-mail, telephone and time zone.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date, datetime

from models.errors import Fault, RefusedInput
from models.facts.place import Client, Lawn, Site
from models.facts.season import Pest
from models.store.engine import Store
from models.store.people import load_clients, load_lawns, load_sites
from scheduler.entries.client_line import COLUMNS, Known, Line, read_line
from scheduler.entries.desk import Desk, at_the_desk
from scheduler.entries.join import enrol, pest_faults, site_faults

SUBJECT = "client file"
BYTE_ORDER_MARK = "\ufeff"  # spreadsheets put it before the first column's name; it is no part of it


def import_clients(store: Store, text: str, pest: Pest, starts_on: date, now: datetime) -> int:
    """Take in the clients and lawns of a CSV text, each lawn on a programme. Gives how many lawns.

    RefusedInput with every fault and its line; nothing is imported then. A file told twice is refused
    the second time: its clients are known.
    """
    lines = _lines(text.removeprefix(BYTE_ORDER_MARK))
    with at_the_desk(store, now) as desk:
        sites = {site.key: site for site in load_sites(desk.connection)}
        read = [(line, read_line(line, Known(frozenset(sites), desk.business.time_zone))) for line in lines]
        faults = [fault for line, _ in read for fault in line.faults]
        faults += [fault for line, pair in read if pair for fault in _far_off(line, pair[1], sites)]
        faults += [*_repeated(lines), *_known_already(desk, lines), *pest_faults(desk.business.rules, pest)]
        if faults:
            raise RefusedInput(SUBJECT, sorted(faults, key=_line_number))
        found = [pair for _, pair in read if pair is not None]
        return _enrol(desk, found, pest, starts_on)


def _far_off(line: Line, lawn: Lawn, sites: Mapping[str, Site]) -> list[Fault]:
    return site_faults(f"line {line.number}, latitude and longitude", lawn, sites[lawn.site_key])


def _enrol(desk: Desk, found: Sequence[tuple[Client, Lawn]], pest: Pest, starts_on: date) -> int:
    clients = {client.key: client for client, _ in found}
    return enrol(desk, list(clients.values()), [lawn for _, lawn in found], pest, starts_on)


def _lines(text: str) -> list[Line]:
    """The lines below the header, or RefusedInput where the file is no table of these columns."""
    rows = list(_rows(text))
    header = [cell.strip() for cell in rows[0][1]] if rows else []
    faults = [*_header_faults(header), *_width_faults(rows[1:], len(header))]
    if faults:
        raise RefusedInput(SUBJECT, faults)
    if len(rows) < 2:
        raise RefusedInput(SUBJECT, [Fault("line 2", "nothing below the header", "write one line a lawn")])
    return [
        Line(number, {column: cell.strip(" ") for column, cell in zip(header, cells, strict=True)})
        for number, cells in rows[1:]
    ]


def _rows(text: str) -> Iterator[tuple[int, list[str]]]:
    """Rows that are not empty, each with the number of the line on which it begins."""
    reader = csv.reader(io.StringIO(text, newline=""), strict=True)
    begins = 1
    try:
        for cells in reader:
            if any(cell.strip() for cell in cells):
                yield begins, cells
            begins = reader.line_num + 1
    except csv.Error as trouble:
        remedy = "close each quotation mark, and double those inside a cell"
        raise RefusedInput(SUBJECT, [Fault(f"line {begins}", str(trouble), remedy)]) from trouble


def _header_faults(header: Sequence[str]) -> Iterator[Fault]:
    columns = f"the columns are {', '.join(COLUMNS)}"
    for column in COLUMNS:
        if header.count(column) != 1:
            stands = "is missing" if column not in header else "stands more than once"
            yield Fault("line 1, header", f"{column} {stands}", columns)
    for column in header:
        if column not in COLUMNS:
            yield Fault("line 1, header", f"{column!r} is no column of this file", columns)


def _width_faults(rows: Iterable[tuple[int, list[str]]], width: int) -> Iterator[Fault]:
    for number, cells in rows:
        if len(cells) != width:
            remedy = f"the header has {width}; put cells that hold a comma in quotation marks"
            yield Fault(f"line {number}", f"{len(cells)} cells", remedy)


def _repeated(lines: Sequence[Line]) -> Iterator[Fault]:
    """A lawn that stands twice, and a client who is another one further up."""
    lawns: dict[str, Line] = {}
    clients: dict[str, Line] = {}
    for line in lines:
        lawn = lawns.setdefault(line.cells["lawn"], line)
        if lawn is not line and line.cells["lawn"]:
            yield _fault(line, "lawn", f"it stands on line {lawn.number} already: give each lawn its own key")
        client = clients.setdefault(line.cells["client"], line)
        if _person(client) != _person(line) and line.cells["client"]:
            yield _fault(line, "client", f"line {client.number} tells another person: use another key")


def _person(line: Line) -> tuple[str, ...]:
    return tuple(line.cells[column] for column in ("name", "email", "phone", "time_zone"))


def _known_already(desk: Desk, lines: Sequence[Line]) -> Iterator[Fault]:
    clients = {client.key for client in load_clients(desk.connection)}
    lawns = {lawn.key for lawn in load_lawns(desk.connection)}
    for line in lines:
        for column, known in (("client", clients), ("lawn", lawns)):
            if line.cells[column] in known:
                yield _fault(line, column, "it is known already: take the line out, or use another key")


def _fault(line: Line, column: str, remedy: str) -> Fault:
    return Fault(f"line {line.number}, {column}", repr(line.cells[column]), remedy)


def _line_number(fault: Fault) -> int:
    """Faults in order of lines; those of no line first."""
    words = fault.where.removesuffix(",").replace(",", " ").split()
    return int(words[1]) if words[0] == "line" else 0
