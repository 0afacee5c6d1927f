"""The sound that may belong to the line to come."""

from __future__ import annotations

from collections import deque

import numpy as np

from fieldvoice.devices.ears import RATE, Block, Sound


class LineSound:
    """Blocks since the last line, or since the ears opened."""

    def __init__(self) -> None:
        self._blocks: deque[Block] = deque()
        self._length_s = 0.0
        self.from_opening = True  # it begins where the ears opened, and not in the midst

    def __bool__(self) -> bool:
        return bool(self._blocks)

    def add(self, block: Block) -> None:
        """Sound that follows."""
        self._blocks.append(block)
        self._length_s += len(block.samples) / RATE

    def drop_to(self, most_s: float) -> None:
        """Forget the oldest of it."""
        while self._length_s > most_s:
            self._length_s -= len(self._blocks.popleft().samples) / RATE
            self.from_opening = False

    def whole(self) -> Sound:
        """All of it."""
        return np.concatenate([block.samples for block in self._blocks])

    def without_last(self, seconds: float) -> tuple[Block, ...]:
        """Take the last seconds away, and give them: they belong to the line after."""
        taken: deque[Block] = deque()
        while len(self._blocks) > 1 and (length := len(self._blocks[-1].samples) / RATE) <= seconds:
            taken.appendleft(self._blocks.pop())
            seconds -= length
            self._length_s -= length
        return tuple(taken)

    def begin(self, *, from_opening: bool) -> None:
        """Forget all of it: the next line begins."""
        self._blocks.clear()
        self._length_s = 0.0
        self.from_opening = from_opening
