"""The application on a real server, on a free loopback port."""

from __future__ import annotations

import socket
import threading
from collections.abc import Iterator
from contextlib import contextmanager

import uvicorn
from starlette.applications import Starlette


@contextmanager
def served(app: Starlette, host: str = "127.0.0.1") -> Iterator[str]:
    """The base address at which `app` answers."""
    with socket.socket() as listening:
        listening.bind((host, 0))
        port: int = listening.getsockname()[1]
        listening.listen()
        config = uvicorn.Config(
            app, log_level="warning", access_log=False, proxy_headers=False, lifespan="off"
        )
        server = uvicorn.Server(config)
        thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]})
        thread.start()
        try:
            yield f"http://{host}:{port}"
        finally:
            server.should_exit = True
            thread.join()
