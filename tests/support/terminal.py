"""A terminal of 80 by 24 that keeps what is written on it."""

from __future__ import annotations

import io
import re

ENVIRONMENT = {"TERM": "xterm", "COLUMNS": "80", "LINES": "24"}


class Terminal(io.StringIO):
    """Set ENVIRONMENT before it is drawn on."""

    def isatty(self) -> bool:
        """It can be drawn on."""
        return True

    def rows(self) -> dict[int, str]:
        """What was last written to each row, where no colours were."""
        found = re.findall(r"\x1b\[(\d+);1H\x1b\[K([^\x1b]*)", self.getvalue())
        return {int(row): text for row, text in found}
