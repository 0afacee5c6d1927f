"""The one error the arithmetic raises, and the input checks that raise it."""

from __future__ import annotations

import math


class TradeError(ValueError):
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
        raise TradeError(f"{name} is {value:g}{_sp(unit)}: it must be above zero")
    return value


def require_between(name: str, value: float, low: float, high: float, unit: str = "") -> float:
    """Return `value` when low <= value <= high; raise TradeError with the permitted range."""
    require_finite(name, value, unit)
    if not low <= value <= high:
        raise TradeError(
            f"{name} is {value:g}{_sp(unit)}: permitted range is {low:g} to {high:g}{_sp(unit)}"
        )
    return value


def _sp(unit: str) -> str:
    return f" {unit}" if unit else ""


def _in(unit: str) -> str:
    return f" (in {unit})" if unit else ""
