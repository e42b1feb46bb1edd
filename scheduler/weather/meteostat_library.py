"""The meteostat library made to behave, inside a child process: what both of its children share."""

from __future__ import annotations

import logging
import socket
from collections.abc import Iterable
from pathlib import Path
from typing import Any

STATION_LIST = "stations.db"
NEVER_S = 10**9  # in seconds: the library is to renew nothing by itself


class Troubles(logging.Handler):
    """What could not be loaded: the library only logs it and leaves the days out.

    A file that is not there (404) is no trouble: the station has no such year.
    """

    MODULES = ("shared", "data", "forecast")

    def __init__(self) -> None:
        super().__init__(logging.WARNING)
        self.heard: list[str] = []

    def emit(self, record: logging.LogRecord) -> None:
        if record.module in self.MODULES:
            cause = f" ({record.exc_info[1]})" if record.exc_info else ""
            self.heard.append(f"{record.getMessage()}{cause}")


def listen() -> Troubles:
    troubles = Troubles()
    logging.getLogger("meteostat").addHandler(troubles)
    return troubles


def configure(cache_directory: Path, wait_s: float) -> None:
    """Before the first fetch: the library's modules copy the endpoints when they are first used."""
    from meteostat import config

    socket.setdefaulttimeout(wait_s)  # its CSV downloads have no limit of their own
    config.network_timeout = max(1, round(wait_s))
    config.network_max_retries = 0  # the next run asks again
    # Days are kept in our own table; the library's cache serves old files and overwrites good with empty.
    config.cache_enable = False
    config.cache_directory = str(cache_directory)
    config.stations_db_file = str(cache_directory / STATION_LIST)
    config.stations_db_ttl = NEVER_S
    # We ask for one station at a time and for few years at once; the point of a forecast has no years.
    config.block_large_requests = False


def credits_of(providers: Iterable[Any]) -> list[dict[str, Any]]:
    """Whom the library names for data of these providers, and under what terms."""
    from meteostat.core.providers import provider_service

    known = [one for key in sorted(map(str, providers)) if (one := provider_service.get_provider(key))]
    return [
        {
            "attribution": one.license.attribution or one.name,
            "licence": one.license.name or "",
            "address": one.license.url or "",
            "commercial": one.license.commercial,
        }
        for one in known
        if one.license is not None
    ]
