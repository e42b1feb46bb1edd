"""The picture of a lawn's soil over HTTP, shown to whom the season page is shown."""

from __future__ import annotations

from base64 import b64encode
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from hashlib import sha256

from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response

from frontends.soil_facts import read_lawn_soil
from frontends.web.guard import comes_from_this_machine
from frontends.web.tags import names_tag
from models.errors import NotFound
from models.store.engine import Store
from notifiers.pictures.palette import style
from notifiers.pictures.soil import soil_svg

REFUSED = "The pictures are shown on this machine only: open the season page there.\n"
SVG = "image/svg+xml"
# The one style sheet within is named by its hash: nothing else in the file may style or run.
STYLE_HASH = b64encode(sha256(style().encode()).digest()).decode()
HEADERS = {
    "Cache-Control": "private, no-cache",
    "Content-Security-Policy": f"default-src 'none'; style-src 'sha256-{STYLE_HASH}'; frame-ancestors 'none'",
    "Referrer-Policy": "no-referrer",
    "X-Content-Type-Options": "nosniff",
}


@dataclass(frozen=True, slots=True)
class SoilPictures:
    """Answers `/lawns/{lawn}/soil.svg`."""

    store: Store
    now: Callable[[], datetime]
    beyond_loopback: bool = False

    def __call__(self, request: Request) -> Response:
        if not (self.beyond_loopback or comes_from_this_machine(request)):
            return PlainTextResponse(REFUSED, 403, headers=HEADERS)
        try:
            place = read_lawn_soil(self.store, request.path_params["lawn"], self.now())
        except NotFound as trouble:
            return PlainTextResponse(f"{trouble}\n", 404, headers=HEADERS)
        content = soil_svg(place.picture)
        headers = {**HEADERS, "ETag": f'"{sha256(content).hexdigest()[:32]}"'}
        if names_tag(request.headers.get("if-none-match"), headers["ETag"]):
            return Response(status_code=304, headers=headers)
        return Response(content, media_type=SVG, headers=headers)
