"""Units, quantities, lengths of time and values with their unit, as the grammar gives them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal

from fieldvoice.quantity.units import SHARED_WORDS
from fieldvoice.quantity.written_units import find

_HOUR, _MINUTE, _SECOND = timedelta(hours=1), timedelta(minutes=1), timedelta(seconds=1)
TIME_UNITS = {
    "H": _HOUR, "HOUR": _HOUR, "MIN": _MINUTE, "MINUTE": _MINUTE, "S": _SECOND, "SECOND": _SECOND,
}  # fmt: skip


class Unit(str):
    """A unit's name."""

    @classmethod
    def named(cls, rule: str) -> Unit:
        """The unit of a grammar rule or word list: typed_kpa, KPA -> kPa; l_per_s -> L/s.

        A word that more than one unit answers to stays as it was said, and so does "psi".
        """
        name = rule.lower().removeprefix("typed_")
        known = find(name.replace("_per_", "/").replace("_", "-"))
        return cls(name if known is None or name in SHARED_WORDS else known.name)


class Quantity(str):
    """A quantity's name."""


class Option(str):
    """An option's name."""


class Label(str):
    """What a timer is for."""


class Kind(str):
    """A kind of steps."""


class Reason(str):
    """Why a step is skipped."""


class StageName(str):
    """The name by which a stage of a procedure is said."""


class Day(str):
    """A day: "2026-11-26", or so many days ago: "1 days ago"."""


class Direction(str):
    """Which way a jump leads: "back"."""


class Whose(str):
    """Who did something."""


class TestVerdict(str):
    """How a test ended: "passed", "failed"; "done" where that is not said."""


@dataclass(frozen=True)
class Measure:
    """A value with the unit that was said."""

    value: Decimal
    unit: Unit | None = None


def lasting(count: Decimal, one: timedelta) -> timedelta:
    """So many minutes, hours or seconds, exact to the microsecond."""
    return timedelta(microseconds=int(count * (one // timedelta(microseconds=1))))


def clock(text: str) -> timedelta:
    """1:30 typed -> an hour and a half."""
    hours, minutes = text.split(":")
    return timedelta(hours=int(hours), minutes=int(minutes))
