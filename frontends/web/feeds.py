"""Calendar feeds over HTTP: bytes from the records, with their ETag (RFC 9110) and a secret address."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from email.utils import format_datetime, parsedate_to_datetime
from hashlib import sha256

from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response

from frontends.web.tags import names_tag
from models.errors import NotFound
from models.facts.post import FeedFacts
from models.facts.step import RenderFeed
from models.store.engine import Connection, Store
from models.store.feeds import load_feed
from models.store.people import find_client, load_business
from models.tokens import TokenStanding, standing

CALENDAR = "text/calendar; charset=utf-8"
# Asked again each time, which costs a 304: a moved visit is to be seen at once.
CACHE = "private, no-cache"
NO_INDEX = {"X-Robots-Tag": "noindex", "Referrer-Policy": "no-referrer", "X-Content-Type-Options": "nosniff"}


@dataclass(frozen=True, slots=True)
class Answer:
    """A feed's bytes; `changed_at` None: nothing was ever booked."""

    content: bytes
    etag: str
    changed_at: datetime | None


@dataclass(frozen=True, slots=True)
class CalendarFeeds:
    """Answers `/calendar/{client}/{token}.ics`."""

    store: Store
    key: bytes
    render_feed: RenderFeed

    def __call__(self, request: Request) -> Response:
        client_key, token = request.path_params["client"], request.path_params["token"]
        with self.store.read() as connection:
            found = _standing(connection, self.key, client_key, token)
            if found is TokenStanding.UNKNOWN:
                return _refusal("There is no calendar at this address.", 404)
            if found is TokenStanding.WITHDRAWN:
                return _refusal("This calendar address was withdrawn. Ask us for the new one.", 410)
            answer = self._answer(connection, client_key)
        headers = _headers(answer)
        if _is_known_already(request, answer):
            return Response(status_code=304, headers=headers)
        return Response(answer.content, media_type=CALENDAR, headers=headers)

    def _answer(self, connection: Connection, client_key: str) -> Answer:
        feed = load_feed(connection, client_key)
        if feed is not None:
            return Answer(feed.content, feed.etag, feed.changed_at)
        content = self.render_feed(FeedFacts(client_key, load_business(connection).name, ()))
        return Answer(content, f'"{sha256(content).hexdigest()[:32]}"', None)


def _standing(connection: Connection, key: bytes, client_key: str, token: str) -> TokenStanding:
    try:
        client = find_client(connection, client_key)
    except NotFound:
        return TokenStanding.UNKNOWN
    return standing(token, key, client.key, client.token_version)


def _headers(answer: Answer) -> dict[str, str]:
    changed = {} if answer.changed_at is None else {"Last-Modified": _http_date(answer.changed_at)}
    return {"ETag": answer.etag, "Cache-Control": CACHE, **changed, **NO_INDEX}


def _is_known_already(request: Request, answer: Answer) -> bool:
    """RFC 9110, 13.2.2: If-None-Match decides; If-Modified-Since only without it."""
    named = request.headers.get("if-none-match")
    if named is not None:
        return names_tag(named, answer.etag)
    since = _parsed(request.headers.get("if-modified-since"))
    if since is None or answer.changed_at is None:
        return False
    return answer.changed_at.replace(microsecond=0) <= since


def _parsed(http_date: str | None) -> datetime | None:
    """None where there is none or it cannot be read: RFC 9110, 13.1.3 has it ignored then."""
    if http_date is None:
        return None
    try:
        parsed = parsedate_to_datetime(http_date)
    except ValueError:
        return None
    return parsed if parsed.tzinfo is not None else None


def _http_date(instant: datetime) -> str:
    return format_datetime(instant.replace(microsecond=0), usegmt=True)


def _refusal(words: str, status: int) -> Response:
    return PlainTextResponse(words, status, headers={"Cache-Control": "no-store", **NO_INDEX})
