"""The one error the arithmetic raises, and the input checks that raise it."""

from __future__ import annotations

import math
from collections.abc import Callable

from fieldvoice.errors import FieldvoiceError
from fieldvoice.quantity import constants


class TradeError(FieldvoiceError, ValueError):
    """Bad input to a calculation; the message says what is wrong, where, and what to do."""


def require_finite(name: str, value: float, unit: str = "") -> float:
    """Return `value` when it is an ordinary number; raise TradeError naming it otherwise."""
    if not math.isfinite(value):
        raise TradeError(f"{name} is not a number{_in(unit)}: give a finite value")
    return value


def require_positive(name: str, value: float, unit: str = "") -> float:
    """Return `value` when above zero; raise TradeError naming it otherwise."""
    require_finite(name, value, unit)
    if value <= 0:
        raise TradeError(f"{name} is {_shown(unit, value)}: it must be above zero")
    return value


def require_between(name: str, value: float, low: float, high: float, unit: str = "") -> float:
    """Return `value` when low <= value <= high; raise TradeError with the permitted range."""
    require_finite(name, value, unit)
    if not low <= value <= high:
        raise TradeError(
            f"{name} is {_shown(unit, value)}: permitted range is {_shown(unit, low, high)}"
        )
    return value


# Units that a technician does not read off a gauge, and what stands beside them in an error
_BESIDE: dict[str, tuple[str, Callable[[float], float]]] = {
    "K": ("F", constants.k_to_f), "C": ("F", constants.c_to_f),
    "m": ("ft", lambda metres: metres / constants.M_PER_FOOT),
    "m3": ("L", lambda cubic: cubic * 1000.0),
    "m3/s": ("cfm", lambda flow: flow / constants.M3_PER_S_PER_CFM),
    "kg": ("oz", lambda mass: mass / constants.KG_PER_OZ),
    "s": ("minutes", lambda seconds: seconds / 60.0),
}
_PSIA = ("psia", lambda pascal: pascal / constants.PA_PER_PSI)
_MICRONS = ("microns", constants.microns)
_VACUUM_BELOW_PA = 13_000.0  # a vacuum gauge reads from about here down


def _shown(unit: str, *values: float) -> str:
    """One value or a range with its unit, and in brackets the same in the trade's unit."""
    text = " to ".join(f"{value:g}" for value in values) + (f" {unit}" if unit else "")
    beside = _BESIDE.get(unit)
    if unit == "Pa":
        beside = _MICRONS if max(values) < _VACUUM_BELOW_PA else _PSIA
    if beside is None:
        return text
    other, convert = beside
    return f"{text} ({' to '.join(f'{convert(value):.6g}' for value in values)} {other})"


def _in(unit: str) -> str:
    return f" (in {unit})" if unit else ""
