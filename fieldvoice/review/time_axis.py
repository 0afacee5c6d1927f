"""The time axis of a curve: true to scale while somebody worked, long breaks drawn short."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import datetime, timedelta

_STEPS_MIN = (1, 2, 5, 10, 15, 30, 60, 120, 240, 480, 720, 1440, 2880, 10080)
_LONG = 0.15  # share of the time worked from which a break is drawn short
_SHORT = 0.05  # of the axis that each short one takes

Span = tuple[float, float]  # minutes


class TimeAxis:
    """Places of minutes along an axis of length 1."""

    def __init__(self, first: float, last: float, breaks: Sequence[Span] = ()) -> None:
        inside = [(max(a, first), min(b, last)) for a, b in breaks if b > first and a < last]
        worked = last - first - sum(b - a for a, b in inside)
        self.first, self.last = first, last
        self.short = [(a, b) for a, b in inside if b - a > _LONG * max(worked, 1e-9)]
        self.to_scale = max(last - first - sum(b - a for a, b in self.short), 1e-9)
        self._gap = min(_SHORT, 0.4 / max(len(self.short), 1))

    def place(self, minute: float) -> float:
        """0 at the first minute to 1 at the last."""
        scale = (1 - self._gap * len(self.short)) / self.to_scale
        place = (minute - self.first) * scale
        for begin, end in self.short:
            passed = min(max((minute - begin) / (end - begin), 0.0), 1.0)
            place += passed * (self._gap - (end - begin) * scale)
        return place

    def ticks(self, began: datetime, most: int) -> list[tuple[float, str]]:
        """Minutes and clock times of at most about `most` round moments, none in a short break."""
        step = next((s for s in _STEPS_MIN if self.to_scale / s <= most), _STEPS_MIN[-1])
        midnight = began.replace(hour=0, minute=0, second=0, microsecond=0)
        offset = (began - midnight).total_seconds() / 60.0
        found = []
        for begin, end in self._worked():
            number = math.ceil((begin + offset) / step)
            while number * step - offset <= end:
                moment = midnight + timedelta(minutes=number * step)
                found.append((number * step - offset, f"{moment:%H:%M}"))
                number += 1
        return found

    def _worked(self) -> list[Span]:
        starts = [self.first, *(end for _, end in self.short)]
        ends = [*(begin for begin, _ in self.short), self.last]
        return list(zip(starts, ends, strict=True))
