"""Standard streams as they may come: closed, full, of a narrow encoding, with nobody reading."""

from __future__ import annotations

import contextlib
import io
import os
import sys

_CLOSED = {0: os.O_RDONLY, 1: os.O_RDONLY, 2: os.O_WRONLY}  # one cannot write where it was closed


def make_ready() -> None:
    """Let no file of ours take the place of a closed stream, and let no character fail.

    What is written to a closed standard output fails, as it does for other programs; what goes to
    a closed standard error is lost. From a closed standard input nothing comes. Without this the
    job's log could be opened as stream 2, and a library's complaints would land in it.
    """
    for number, mode in _CLOSED.items():
        try:
            os.fstat(number)
        except OSError:
            _take_place(number, mode)
    sys.stdin = sys.stdin or io.TextIOWrapper(io.FileIO(0, "r", closefd=False))
    sys.stdout = sys.stdout or io.TextIOWrapper(io.FileIO(1, "w", closefd=False))
    sys.stderr = sys.stderr or io.TextIOWrapper(io.FileIO(2, "w", closefd=False))
    for stream in (sys.stdin, sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            with contextlib.suppress(ValueError):  # one that was closed by whoever called us
                stream.reconfigure(errors="replace")


def _take_place(number: int, mode: int) -> None:
    opened = os.open(os.devnull, mode)
    if opened != number:
        os.dup2(opened, number, inheritable=True)
        os.close(opened)
    else:
        os.set_inheritable(number, True)


def readable(given: str) -> str:
    """An argument or a file's name as text: where the locale cannot say what its bytes mean, UTF-8
    does. What no file can be called is left as it is.
    """
    try:
        return os.fsencode(given).decode("utf-8", "replace")
    except UnicodeEncodeError:
        return given


def flush_or_fail() -> None:
    """Write out what is still in the buffer of standard output. Raises OSError."""
    sys.stdout.flush()


def let_go() -> None:
    """Drop what standard output did not take, so that leaving does not fail on it again."""
    with contextlib.suppress(OSError, ValueError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
