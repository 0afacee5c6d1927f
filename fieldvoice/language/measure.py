"""Units, quantities, lengths of time and values with their unit, as the grammar gives them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal

# How quantity/readings.py spells a unit, where the grammar's lower-case name differs.
SPELLED = {
    "pa": "Pa", "kpa": "kPa", "mpa": "MPa", "mmhg": "mmHg", "inhg": "inHg",
    "inhg_vacuum": "inHg-vacuum", "degf": "degF", "degc": "degC", "a": "A", "v": "V",
    "percent": "%", "l_per_s": "L/s", "m3_per_h": "m3/h", "l": "L", "ml": "mL", "ft_lb": "ft-lb",
    "n_m": "N-m",
}  # fmt: skip
# Units that only one quantity is read in; these fix the quantity when none was said.
ONLY_QUANTITY = {
    "microns": "vacuum", "V": "voltage", "ft-lb": "torque", "N-m": "torque",
    "cfm": "pump-speed", "L/s": "pump-speed", "m3/h": "pump-speed",
    "L": "system-volume", "mL": "system-volume", "ft3": "system-volume", "in3": "system-volume",
    "m3": "system-volume",
}  # fmt: skip
_HOUR, _MINUTE, _SECOND = timedelta(hours=1), timedelta(minutes=1), timedelta(seconds=1)
TIME_UNITS = {
    "H": _HOUR, "HOUR": _HOUR, "MIN": _MINUTE, "MINUTE": _MINUTE, "S": _SECOND, "SECOND": _SECOND,
}  # fmt: skip


class Unit(str):
    """A unit's name."""

    @classmethod
    def named(cls, rule: str) -> Unit:
        """The unit of a grammar rule or word list: typed_kpa, KPA -> kPa."""
        name = rule.lower().removeprefix("typed_")
        return cls(SPELLED.get(name, name))


class Quantity(str):
    """A quantity's name."""


class Option(str):
    """An option's name."""


class Label(str):
    """What a timer is for."""


class Reason(str):
    """Why a step is skipped."""


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
