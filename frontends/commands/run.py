"""`swardtide run`: the service, which keeps time in the background and answers on the web."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

import typer

from frontends.commands.talking import Desk, open_desk

if TYPE_CHECKING:
    from scheduler.daemon import Daemon

app = typer.Typer(pretty_exceptions_enable=False, add_completion=False)


@app.command()
def run() -> None:
    """Run the timed steps, and serve the season page and the calendar feeds, until told to end."""
    from frontends.web.app import create_app
    from frontends.web.serving import serve
    from models.clock import now_utc

    set_up_log()
    with open_desk() as desk:
        parts, settings = desk.parts, desk.parts.settings
        site = create_app(
            parts.store,
            parts.key,
            now_utc,
            parts.render_feed,
            season_page_beyond_loopback=settings.season_page_beyond_loopback,
        )
        with keeping_time(desk):
            typer.echo(
                f"Season page: http://{settings.web_host}:{settings.web_port}/ (Ctrl-C ends)", err=True
            )
            serve(site, settings.web_host, settings.web_port)


@contextmanager
def keeping_time(desk: Desk) -> Iterator[Daemon]:
    """The daemon over the installation's jobs, ended after the job that is running."""
    from models.clock import now_utc
    from scheduler.daemon import Daemon

    jobs = desk.parts.jobs(desk.parts.settings.worker)
    daemon = Daemon(desk.parts.store, jobs, desk.business.time_zone, now_utc)
    daemon.start()
    try:
        yield daemon
    finally:
        daemon.stop()


def set_up_log() -> None:
    """Log lines on standard error: for people on a terminal, else as JSON."""
    import structlog

    shared = (
        structlog.processors.add_log_level,
        structlog.processors.TimeStamper(fmt="iso", utc=True),
    )
    on_terminal = (structlog.dev.ConsoleRenderer(),)
    elsewhere = (structlog.processors.format_exc_info, structlog.processors.JSONRenderer())
    structlog.configure(
        processors=[*shared, *(on_terminal if sys.stderr.isatty() else elsewhere)],
        logger_factory=structlog.PrintLoggerFactory(sys.stderr),
    )
