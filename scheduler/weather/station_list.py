"""The library's list of stations, renewed so that a bad download never costs the good list."""

from __future__ import annotations

from datetime import datetime, timedelta
from pathlib import Path

RENEWED_AFTER = timedelta(days=30)  # stations open and close seldom; as the library's own cache


def renew(present: Path, now: datetime) -> bool:
    """Download the list where there is none or it is old. Gives whether there is one to use.

    The new list takes the old one's place whole, and only when stations can be read from it.
    """
    if _is_young(present, now):
        return True
    part = present.with_suffix(".part")
    if _download(part) and _has_stations(part):
        part.replace(present)
    part.unlink(missing_ok=True)
    return present.exists()


def _is_young(present: Path, now: datetime) -> bool:
    return present.exists() and now.timestamp() - present.stat().st_mtime < RENEWED_AFTER.total_seconds()


def _download(part: Path) -> bool:
    from meteostat import config
    from meteostat.core.network import network_service

    response = network_service.get_from_mirrors(config.stations_db_endpoints)
    if response is not None:
        part.write_bytes(response.content)
    return response is not None


def _has_stations(part: Path) -> bool:
    import pandas as pd
    from meteostat import config, stations

    usual = config.stations_db_file
    config.stations_db_file = str(part)
    try:
        return bool(len(stations.query("SELECT `id` FROM `stations` LIMIT 1")))
    except pd.errors.DatabaseError:
        return False
    finally:
        config.stations_db_file = usual
