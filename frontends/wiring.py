"""The only place that joins real parts: records, weather sources, a channel for mail, and the jobs."""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import time, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from models.errors import BadSettings
from models.facts.place import Client
from models.facts.step import Job, RenderFeed
from models.tokens import feed_token

if TYPE_CHECKING:
    from frontends.settings import Settings
    from models.store.engine import Store
    from notifiers.channel import Channel
    from notifiers.deliver import CalendarAddress
    from scheduler.weather.source import WeatherSource

CHAIN_AT = time(4, 30)  # after the night's weather reports, and clear of the hours when clocks change
POST_FROM, POST_UNTIL = time(7, 0), time(20, 0)
POST_EVERY = timedelta(minutes=10)
JOB_NAMES = ("weather", "soil", "windows", "plan", "stock", "watering", "post")


@dataclass(frozen=True, slots=True)
class Parts:
    """All real parts of one installation, open."""

    settings: Settings
    store: Store
    sources: Mapping[str, WeatherSource]
    channel: Channel
    render_feed: RenderFeed
    key: bytes
    forecasts: WeatherSource | None = None

    def calendar_address(self, client: Client) -> str:
        return calendar_address(self.settings.base_address, self.key, client)

    def jobs(self, worker: str) -> tuple[Job, ...]:
        return build_jobs(
            self.store,
            self.sources,
            self.channel,
            self.render_feed,
            worker=worker,
            calendar_address=self.calendar_address,
            forecasts=self.forecasts,
        )


def build_jobs(
    store: Store,
    sources: Mapping[str, WeatherSource],
    channel: Channel,
    render_feed: RenderFeed | None = None,
    *,
    worker: str = "service",
    calendar_address: CalendarAddress | None = None,
    forecasts: WeatherSource | None = None,
) -> tuple[Job, ...]:
    """The day's work: planning in order at 04:30 local, and the post through the day.

    `worker` names this process among those that send; `render_feed` None is the iCalendar one;
    `forecasts` is asked beside each site's own source.
    """
    from notifiers.calendar import render_feed as icalendar_feed
    from notifiers.deliver import Deliver
    from scheduler.steps.plan import PlanSeason
    from scheduler.steps.soil import EstimateSoil
    from scheduler.steps.stock import OrderStock
    from scheduler.steps.watering import AdviseWatering
    from scheduler.steps.weather import FetchWeather
    from scheduler.steps.windows import JudgeWindows

    chain = (
        FetchWeather(store, sources, forecasts),
        EstimateSoil(store),
        JudgeWindows(store),
        PlanSeason(store, render_feed or icalendar_feed),
        OrderStock(store),
        AdviseWatering(store),
    )
    post = Deliver(store, channel, worker, calendar_address)
    return (*(Job(step, CHAIN_AT) for step in chain), Job(post, POST_FROM, POST_EVERY, POST_UNTIL))


def rehearsal_jobs(store: Store, records: Path, mail_folder: Path) -> tuple[Job, ...]:
    """The same jobs over station files of the past, with mail into a folder."""
    from notifiers.maildrop import Maildrop
    from scheduler.weather.station_file import StationFileSource

    source = StationFileSource(records)
    return build_jobs(store, {source.name: source}, Maildrop(mail_folder), worker="rehearsal")


def open_parts(settings: Settings) -> Parts:
    """Open the records, brought up to date, and make all parts.

    BadSettings where a place cannot be used, RecordsUnavailable where the database gives no answer.
    """
    from frontends.settings import make_secret
    from models.store.engine import open_store
    from models.store.soundness import require_records
    from notifiers.calendar import render_feed

    _make_home(settings)
    key = make_secret(settings)
    store = open_store(settings.database_address)
    require_records(store)
    store.migrate()
    sources, forecasts = open_sources(settings), open_forecasts(settings)
    return Parts(settings, store, sources, open_channel(settings), render_feed, key, forecasts)


def open_sources(settings: Settings) -> Mapping[str, WeatherSource]:
    """Weather sources by the name that sites call them by."""
    from scheduler.weather.meteostat_source import MeteostatSource
    from scheduler.weather.station_file import StationFileSource

    sources: tuple[WeatherSource, ...] = (
        StationFileSource(settings.station_folder),
        MeteostatSource(settings.weather_cache, settings.weather_timeout_s),
    )
    return {source.name: source for source in sources}


def open_forecasts(settings: Settings) -> WeatherSource | None:
    """Where forecasts come from for all sites; None where none are wanted."""
    from frontends.settings import Forecast

    if settings.forecast is Forecast.OFF:
        return None
    from scheduler.weather.forecast_source import ForecastSource

    user_agent = f"Swardtide ({settings.forecast_contact})"
    return ForecastSource(settings.weather_cache, user_agent, settings.weather_timeout_s)


def open_channel(settings: Settings) -> Channel:
    from frontends.settings import Mail

    if settings.mail is Mail.FOLDER:
        from notifiers.maildrop import Maildrop

        return Maildrop(settings.mail_folder, durable=True)
    from notifiers.smtp import MailServer, Security, SmtpChannel

    return SmtpChannel(
        MailServer(
            host=settings.smtp_host,
            port=settings.smtp_port,
            security=Security(settings.smtp_security),
            username=settings.smtp_user or None,
            password=settings.smtp_password.get_secret_value() or None,
        )
    )


def calendar_address(base: str, key: bytes, client: Client) -> str:
    """The secret address of a client's calendar, as it holds for the present version of its token."""
    return f"{base}/calendar/{client.key}/{feed_token(key, client.key, client.token_version)}.ics"


def one_off_worker() -> str:
    """A name that no other live process on this machine has."""
    return f"step-{os.getpid()}"


def _make_home(settings: Settings) -> None:
    try:
        settings.home.mkdir(mode=0o700, parents=True, exist_ok=True)
    except OSError as trouble:
        remedy = f"name a folder that this user may write to ({trouble.strerror})"
        raise BadSettings("SWARDTIDE_HOME", str(settings.home), remedy) from trouble
