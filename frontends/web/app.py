"""The web application: the season page for people at this machine, and calendar feeds for clients."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from pathlib import Path

from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response
from starlette.routing import Mount, Route
from starlette.staticfiles import StaticFiles

from frontends.web.feeds import CalendarFeeds
from frontends.web.season_page import SeasonPage
from frontends.web.soil_picture import SoilPictures
from models.errors import SwardtideError
from models.facts.step import RenderFeed
from models.store.engine import Store

STATIC = Path(__file__).parent / "static"
Clock = Callable[[], datetime]


def create_app(
    store: Store,
    key: bytes,
    now: Clock,
    render_feed: RenderFeed,
    *,
    season_page_beyond_loopback: bool = False,
) -> Starlette:
    """The application over open records. `now` may be a replay's clock: the page says so then."""
    feeds = CalendarFeeds(store, key, render_feed)
    page = SeasonPage(store, now, season_page_beyond_loopback)
    pictures = SoilPictures(store, now, season_page_beyond_loopback)
    return Starlette(
        routes=[
            Route("/", page.__call__, methods=["GET"]),
            Route("/calendar/{client:path}/{token}.ics", feeds.__call__, methods=["GET"]),
            Route("/lawns/{lawn:path}/soil.svg", pictures.__call__, methods=["GET"]),
            Mount("/static", StaticFiles(directory=STATIC)),
        ],
        exception_handlers={SwardtideError: _say},
    )


def _say(_request: Request, trouble: Exception) -> Response:
    return PlainTextResponse(f"{trouble}\n", 503, headers={"Cache-Control": "no-store"})
