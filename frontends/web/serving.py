"""Serving the application: uvicorn in the foreground until it is told to end."""

from __future__ import annotations

import signal

from starlette.applications import Starlette


def serve(app: Starlette, host: str, port: int) -> None:
    """Serve until SIGINT or SIGTERM, then return. Called in the main thread."""
    import uvicorn

    # uvicorn sends itself the signal again when it has ended; as an interrupt it comes back to the caller,
    # who has other work to end in order.
    signal.signal(signal.SIGTERM, signal.default_int_handler)
    # No access log: the addresses of calendars are secrets. No proxy headers: nobody's word is taken.
    uvicorn.run(app, host=host, port=port, log_level="warning", access_log=False, proxy_headers=False)
