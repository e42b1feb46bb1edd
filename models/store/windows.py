"""Windows as decided, day by day, and the likely dates of those ahead."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from sqlalchemy import Connection, Select, and_, func, or_, select

from models.facts.place import Texture
from models.facts.season import LikelyDay, Outlook, Pest, Season, Species, Turn, Window, WindowRule
from models.facts.work import ProgrammeState
from models.store.writing import upsert
from models.tables.people import LawnRow
from models.tables.season import OutlookRow, WindowRow
from models.tables.weather import SoilDayRow
from models.tables.work import ProgrammeRow

WINDOW_BOOK = "window-book"  # the ledger that guards windows and likely dates


@dataclass(frozen=True, slots=True)
class JudgedLawn:
    """A lawn on an active programme, with what the judging of its window rests on."""

    lawn_key: str
    site_key: str
    texture: Texture


def lawns_without_window(connection: Connection, rule: WindowRule, season: Season) -> tuple[JudgedLawn, ...]:
    """Lawns on a programme of the rule's pest and species that have no window of `season` yet."""
    return _judged(connection, _lawns(rule, season).where(WindowRow.lawn_key.is_(None)))


def lawns_behind(
    connection: Connection, rule: WindowRule, season: Season, day: date
) -> tuple[JudgedLawn, ...]:
    """Lawns on such a programme whose window of `season` is missing or not decided for `day`."""
    behind = or_(WindowRow.judged_to.is_(None), WindowRow.judged_to < day)
    return _judged(connection, _lawns(rule, season).where(behind))


def lawns_to_close(
    connection: Connection, rule: WindowRule, season: Season, day: date
) -> tuple[JudgedLawn, ...]:
    """Lawns that have a window of `season`, not decided for `day`: nobody joins a season that is over."""
    behind = or_(WindowRow.judged_to.is_(None), WindowRow.judged_to < day)
    return _judged(connection, _lawns(rule, season).where(WindowRow.lawn_key.is_not(None), behind))


def sites_without_outlook(
    connection: Connection, rule: WindowRule, season: Season
) -> tuple[tuple[str, Texture], ...]:
    """Sites and textures of lawns on such a programme that have no likely dates of `season` yet."""
    same = and_(
        OutlookRow.site_key == LawnRow.site_key,
        OutlookRow.texture == LawnRow.texture,
        OutlookRow.pest == rule.pest.value,
        OutlookRow.season_key == season.key,
    )
    missing = (
        select(LawnRow.site_key, LawnRow.texture)
        .join(ProgrammeRow, ProgrammeRow.lawn_key == LawnRow.key)
        .join(OutlookRow, same, isouter=True)
        .where(*_on_programme(rule), OutlookRow.site_key.is_(None))
        .distinct()
        .order_by(LawnRow.site_key, LawnRow.texture)
    )
    return tuple((row[0], Texture(row[1])) for row in connection.execute(missing))


def sites_on_programme(connection: Connection, rule: WindowRule) -> tuple[tuple[str, Texture], ...]:
    """Sites and textures of lawns on such a programme."""
    wanted = (
        select(LawnRow.site_key, LawnRow.texture)
        .join(ProgrammeRow, ProgrammeRow.lawn_key == LawnRow.key)
        .where(*_on_programme(rule))
        .distinct()
        .order_by(LawnRow.site_key, LawnRow.texture)
    )
    return tuple((row[0], Texture(row[1])) for row in connection.execute(wanted))


def soil_fingerprints(
    connection: Connection, site_keys: Sequence[str], first: date, last: date
) -> dict[str, tuple[float, ...]]:
    """A few sums over each site's soil days of the span: they change where a day of it changes."""
    days = SoilDayRow.__table__.c
    sums = [func.sum(part) for part in (days.mean_10cm_c, days.rain_mm)]
    wanted = (
        select(days.site_key, func.count(), *sums)
        .where(days.site_key.in_(site_keys), days.day.between(first, last))
        .group_by(days.site_key)
    )
    found = {row[0]: tuple(row[1:]) for row in connection.execute(wanted)}
    return {key: found.get(key, ()) for key in site_keys}


def _on_programme(rule: WindowRule) -> tuple[Any, ...]:
    return (
        ProgrammeRow.pest == rule.pest.value,
        ProgrammeRow.species == rule.species.value,
        ProgrammeRow.state == ProgrammeState.ACTIVE.value,
    )


def _lawns(rule: WindowRule, season: Season) -> Select[str, str, str]:
    same_window = and_(
        WindowRow.lawn_key == LawnRow.key,
        WindowRow.pest == rule.pest.value,
        WindowRow.season_key == season.key,
        WindowRow.species == rule.species.value,
    )
    return (
        select(LawnRow.key, LawnRow.site_key, LawnRow.texture)
        .join(ProgrammeRow, ProgrammeRow.lawn_key == LawnRow.key)
        .join(WindowRow, same_window, isouter=True)
        .where(*_on_programme(rule))
        .distinct()
        .order_by(LawnRow.key)
    )


def _judged(connection: Connection, wanted: Select[str, str, str]) -> tuple[JudgedLawn, ...]:
    return tuple(JudgedLawn(row[0], row[1], Texture(row[2])) for row in connection.execute(wanted))


def load_windows(connection: Connection, season_keys: Iterable[str] | None = None) -> tuple[Window, ...]:
    """Windows of those seasons (None: of all), in order of season and lawn."""
    wanted = select(WindowRow.__table__).order_by(WindowRow.season_key, WindowRow.lawn_key, WindowRow.pest)
    if season_keys is not None:
        wanted = wanted.where(WindowRow.season_key.in_(list(season_keys)))
    return tuple(_window(row) for row in connection.execute(wanted))


def windows_of(connection: Connection, lawn_key: str) -> tuple[Window, ...]:
    """One lawn's windows, in order of season."""
    wanted = select(WindowRow.__table__).where(WindowRow.lawn_key == lawn_key).order_by(WindowRow.season_key)
    return tuple(_window(row) for row in connection.execute(wanted))


def save_windows(connection: Connection, windows: Sequence[Window]) -> None:
    upsert(connection, WindowRow, [_window_row(window) for window in windows])


def load_outlooks(connection: Connection, season_keys: Iterable[str]) -> tuple[Outlook, ...]:
    """Likely dates of those seasons, in order of season, site and texture."""
    wanted = (
        select(OutlookRow.__table__)
        .where(OutlookRow.season_key.in_(list(season_keys)))
        .order_by(OutlookRow.season_key, OutlookRow.site_key, OutlookRow.texture, OutlookRow.pest)
    )
    return tuple(_outlook(row) for row in connection.execute(wanted))


def save_outlooks(connection: Connection, outlooks: Sequence[Outlook]) -> None:
    upsert(connection, OutlookRow, [_outlook_row(outlook) for outlook in outlooks])


def _window(row: Any) -> Window:
    return Window(
        lawn_key=row.lawn_key,
        pest=Pest(row.pest),
        species=Species(row.species),
        season=Season.parse(row.season_key),
        turns=tuple(Turn(date.fromisoformat(day), is_open, why) for day, is_open, why in row.turns),
        judged_to=row.judged_to,
        reason=row.reason,
    )


def _window_row(window: Window) -> dict[str, Any]:
    return {
        "lawn_key": window.lawn_key,
        "pest": window.pest.value,
        "season_key": window.season.key,
        "species": window.species.value,
        "turns": [[turn.day.isoformat(), turn.is_open, turn.reason] for turn in window.turns],
        "judged_to": window.judged_to,
        "reason": window.reason,
    }


def _outlook(row: Any) -> Outlook:
    return Outlook(
        site_key=row.site_key,
        texture=Texture(row.texture),
        pest=Pest(row.pest),
        season=Season.parse(row.season_key),
        chances=tuple((date.fromisoformat(day), chance) for day, chance in row.chances),
        years=row.years,
        reason=row.reason,
        opening=_likely_day(row.opening),
        closing=_likely_day(row.closing),
        lasting=tuple((date.fromisoformat(day), chance) for day, chance in row.lasting or ()),
        issued_on=row.issued_on,
    )


def _likely_day(kept: list[str | None] | None) -> LikelyDay | None:
    return None if kept is None else LikelyDay(*(date.fromisoformat(day) if day else None for day in kept))


def _likely_list(likely: LikelyDay | None) -> list[str | None] | None:
    return None if likely is None else [None if day is None else day.isoformat() for day in likely.days]


def _outlook_row(outlook: Outlook) -> dict[str, Any]:
    return {
        "site_key": outlook.site_key,
        "texture": outlook.texture.value,
        "pest": outlook.pest.value,
        "season_key": outlook.season.key,
        "chances": [[day.isoformat(), chance] for day, chance in outlook.chances],
        "years": outlook.years,
        "reason": outlook.reason,
        "opening": _likely_list(outlook.opening),
        "closing": _likely_list(outlook.closing),
        "lasting": [[day.isoformat(), chance] for day, chance in outlook.lasting],
        "issued_on": outlook.issued_on,
    }
