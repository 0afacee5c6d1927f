"""The curve that a standing vacuum was judged by, drawn again from the figures of its verdict."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from fieldvoice.quantity.constants import from_microns, microns
from fieldvoice.trade.errors import TradeError
from fieldvoice.trade.vacuum.decay import VacuumReading, fitted_band

_PLACES = 24  # of the line


@dataclass(frozen=True)
class FitPoint:
    """A place of the fitted line: minutes since the hold began; microns of line and band."""

    minute: float
    low: float
    middle: float
    high: float


def fit_of(figures: Mapping[str, Any]) -> tuple[FitPoint, ...]:
    """The fitted line and its band; empty where the figures say too little, or nothing fits."""
    try:
        taken = [VacuumReading(float(r["minutes"]), float(r["pressure_pa"]), r.get("step_pa"))
                 for r in figures.get("readings", ())]
        if len(taken) < 3:
            return ()
        first, last = taken[0].minutes, taken[-1].minutes
        places = [first + (last - first) * n / _PLACES for n in range(_PLACES + 1)]
        band = fitted_band(
            taken, places, ambient_c=figures.get("ambient_c"),
            gauge_resolution_pa=figures.get("gauge_resolution_pa", from_microns(5)),
            gauge_noise_fraction=figures.get("gauge_noise_fraction", 0.01))
    except (TradeError, ArithmeticError, AttributeError, KeyError, TypeError, ValueError):
        return ()  # a log made elsewhere may say anything
    return tuple(FitPoint(minute, *(microns(pressure) for pressure in at))
                 for minute, at in zip(places, band, strict=True) if min(at) > 0)
