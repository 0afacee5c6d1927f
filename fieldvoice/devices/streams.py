"""Standard streams that a caller closed: opened on nothing, before a file takes their place."""

from __future__ import annotations

import io
import os
import sys


def open_streams() -> None:
    """Closed ones read as ended and swallow what is written; characters that fit not become "?"."""
    for number in (0, 1, 2):
        try:
            os.fstat(number)
        except OSError:  # the next file opened would be taken for this stream
            os.open(os.devnull, os.O_RDWR)
    if sys.stdin is None:
        sys.stdin = os.fdopen(0, "r", encoding="utf-8", closefd=False)
    for number, name in ((1, "stdout"), (2, "stderr")):
        if getattr(sys, name) is None:
            setattr(sys, name, os.fdopen(number, "w", encoding="utf-8", closefd=False))
        stream = getattr(sys, name)
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")
