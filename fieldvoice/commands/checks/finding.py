"""What a check found, and a check that cannot fail to find something."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from fieldvoice.errors import FieldvoiceError

OK, WARN, BAD, SKIPPED = "ok", "warn", "bad", "skipped"


@dataclass(frozen=True)
class Finding:
    """One thing that was looked at."""

    about: str  # "microphone", "disk", ...
    standing: str  # OK, WARN: it works but could be better, BAD: to be fixed, SKIPPED
    found: str
    to_do: str = ""  # how it is fixed; "" where nothing is to be done
    figures: Mapping[str, Any] = field(default_factory=dict)  # units in their names

    def to_dict(self) -> dict[str, Any]:
        """The fields, for JSON."""
        return {"about": self.about, "standing": self.standing, "found": self.found,
                "to_do": self.to_do, "figures": dict(self.figures)}


Check = Callable[[], Finding]


def looked_at(about: str, check: Check) -> Finding:
    """What a check finds; one that breaks down is a finding as well."""
    try:
        return check()
    except FieldvoiceError as error:
        return Finding(about, BAD, str(error), "see the message")
    except Exception as error:  # whatever a device or a library does, the other checks go on
        return Finding(about, BAD, f"the check broke down: {type(error).__name__}: {error}",
                       "run fieldvoice doctor again; if it stays, send this line to whoever "
                       "looks after this computer")
