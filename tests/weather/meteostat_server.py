"""A server on loopback that serves what meteostat's servers serve: a list of stations, and daily files."""

from __future__ import annotations

import gzip
import sqlite3
import threading
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, suppress
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

DAILY_HEADER = (
    "year,month,day,temp,temp_source,tmin,tmin_source,tmax,tmax_source,prcp,prcp_source,"
    "wspd,wspd_source,tsun,tsun_source"
)

STATION_TABLES = """
CREATE TABLE stations (id TEXT PRIMARY KEY, country TEXT, region TEXT, latitude REAL, longitude REAL,
                       elevation INTEGER, timezone TEXT);
CREATE TABLE names (station TEXT, language TEXT, name TEXT);
CREATE TABLE identifiers (station TEXT, key TEXT, value TEXT);
CREATE TABLE inventory (station TEXT, provider TEXT, parameter TEXT, start TEXT, end TEXT,
                        completeness REAL);
"""

Stations = Mapping[str, tuple[float, float, int]]  # id: latitude, longitude and height above the sea [m]


def a_station_list(path: Path, stations: Stations) -> bytes:
    listed = sqlite3.connect(path)
    listed.executescript(STATION_TABLES)
    for key, (latitude, longitude, elevation_m) in stations.items():
        listed.execute(
            "INSERT INTO stations VALUES (?, 'XS', NULL, ?, ?, ?, 'Europe/Dublin')",
            (key, latitude, longitude, elevation_m),
        )
        listed.execute("INSERT INTO names VALUES (?, 'en', ?)", (key, f"Invented {key}"))
    listed.commit()
    listed.close()
    return path.read_bytes()


def a_daily_file(*lines: str) -> bytes:
    return gzip.compress("\n".join([DAILY_HEADER, *lines, ""]).encode(), mtime=0)


class LoopbackServer(ThreadingHTTPServer):
    """Serves `files` by path. A path in `silent` is never answered, one in `trickling` a byte at a time
    without end, one in `broken` with status 500, one in `cut_off` with half of what was announced."""

    daemon_threads = True

    def __init__(self, files: Mapping[str, bytes]) -> None:
        super().__init__(("127.0.0.1", 0), Handler)
        self.files = dict(files)
        self.silent: set[str] = set()
        self.trickling: set[str] = set()
        self.broken: set[str] = set()
        self.cut_off: set[str] = set()
        self.asked: list[str] = []
        self.user_agents: list[str] = []
        self.ended = threading.Event()

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.server_port}"


class Handler(BaseHTTPRequestHandler):
    server: LoopbackServer

    def do_GET(self) -> None:
        self.server.asked.append(self.path)
        self.server.user_agents.append(self.headers.get("User-Agent", ""))
        if self.path in self.server.silent:
            self.server.ended.wait()
        elif self.path in self.server.trickling:
            self.trickle()
        else:
            self.answer()

    def trickle(self) -> None:
        self.send_response(200)
        self.end_headers()
        with suppress(ConnectionError):
            while not self.server.ended.wait(0.1):
                self.wfile.write(b".")

    def answer(self) -> None:
        content = self.server.files.get(self.path, b"")
        there = 200 if self.path in self.server.files else 404
        self.send_response(500 if self.path in self.server.broken else there)
        self.send_header("Content-Length", str(len(content)))
        self.end_headers()
        self.wfile.write(content[: len(content) // 2] if self.path in self.server.cut_off else content)

    def log_message(self, format: str, *args: object) -> None:
        """Nothing to the terminal."""


@contextmanager
def serving(files: Mapping[str, bytes]) -> Iterator[LoopbackServer]:
    server = LoopbackServer(files)
    thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.02})
    thread.start()
    try:
        yield server
    finally:
        server.ended.set()
        server.shutdown()
        thread.join()
        server.server_close()
