"""Serving the application: uvicorn in the foreground until it is told to end."""

from __future__ import annotations

from starlette.applications import Starlette


def serve(app: Starlette, host: str, port: int) -> None:
    """Serve until SIGINT or SIGTERM."""
    import uvicorn

    # No access log: the addresses of calendars are secrets. No proxy headers: nobody's word is taken.
    uvicorn.run(app, host=host, port=port, log_level="warning", access_log=False, proxy_headers=False)
