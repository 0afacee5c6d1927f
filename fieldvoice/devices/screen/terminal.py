"""What a terminal can show."""

from __future__ import annotations

import os
from typing import TextIO

_PLAIN_LOCALES = ("C", "POSIX")


def is_terminal(out: TextIO) -> bool:
    """Whether `out` can be drawn on."""
    return out.isatty() and os.environ.get("TERM", "dumb") != "dumb"


def wants_colour(out: TextIO) -> bool:
    """Whether it may be drawn in colours."""
    return is_terminal(out) and not os.environ.get("NO_COLOR")


def is_ascii(out: TextIO) -> bool:
    """Whether only ASCII characters are shown: by its encoding, or by the locale that was set."""
    names = ("LC_ALL", "LC_CTYPE", "LANG")
    locale = next((os.environ[name] for name in names if os.environ.get(name)), "")
    encoding = (getattr(out, "encoding", None) or "utf-8").lower().replace("-", "")
    return locale in _PLAIN_LOCALES or not encoding.startswith("utf")
