"""The server: on this computer's own address alone, until it is told to stop."""

from __future__ import annotations

from collections.abc import Callable

from flask import Flask
from waitress.server import create_server

from fieldvoice.desk.app import MOST_BYTES
from fieldvoice.desk.door import ADDRESS, Door
from fieldvoice.desk.errors import DeskError

_THREADS = 4  # a browser plays a sound while it opens a page


def serve(app: Flask, door: Door, port: int, ready: Callable[[], None]) -> None:
    """Serve until Ctrl-C; `port` 0 takes a free one; `ready` is called once it listens.

    Raises DeskError where the port cannot be had.
    """
    try:
        server = create_server(app, host=ADDRESS, port=port, threads=_THREADS, ident=None,
                               max_request_body_size=2 * MOST_BYTES)
    except OSError as error:
        raise DeskError(f"cannot serve on port {port}: {error.strerror}; name another one with "
                        "--port, or none") from None
    door.port = int(server.effective_port)
    try:
        ready()
        server.run()  # ends with an interrupt
    except KeyboardInterrupt:
        pass
    finally:
        server.close()
