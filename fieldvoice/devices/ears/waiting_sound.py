"""Sound between the thread that captures it and the one that hears it; what is lost is counted."""

from __future__ import annotations

import threading
from collections import deque
from dataclasses import dataclass, replace

from fieldvoice.devices.ears.block import Block

MOST_S = 20.0  # of sound that waits; a recognizer so far behind has lost the thread anyway
CAUGHT_UP_S = 2.0  # of sound that waits; with no more, hearing is not behind any longer


@dataclass(frozen=True)
class Skipped:
    """A time in which sound was skipped now and then, by time.monotonic() of its capture."""

    begin: float
    end: float
    seconds: float  # of it that were skipped


class WaitingSound:
    """A queue of blocks, bounded by their length in time: the oldest gives way, and is counted."""

    def __init__(self, most_s: float = MOST_S) -> None:
        self._most_s = most_s
        self._blocks: deque[Block] = deque()
        self._waiting_s = 0.0
        self._came = threading.Condition()
        self.lost_s = 0.0  # sound that nobody heard, since the start
        self.skipped: Skipped | None = None  # since hearing was behind the last time
        self.caught_up = True  # it is not behind now

    def put(self, block: Block) -> None:
        """Add sound; never waits."""
        with self._came:
            self._blocks.append(block)
            self._waiting_s += _length(block)
            while self._waiting_s > self._most_s and len(self._blocks) > 1:
                lost = self._blocks.popleft()
                self._waiting_s -= _length(lost)
                self._lose(lost)
                self._blocks[0] = replace(self._blocks[0], after_gap=True)
            self._came.notify()

    def _lose(self, block: Block) -> None:
        self.lost_s += _length(block)
        before = None if self.caught_up else self.skipped
        self.skipped = (Skipped(block.at, block.end, _length(block)) if before is None else
                        Skipped(before.begin, block.end, before.seconds + _length(block)))
        self.caught_up = False

    def get(self, timeout: float) -> Block | None:
        """The next block; None when none comes in `timeout` seconds."""
        with self._came:
            if not self._blocks:
                self._came.wait(timeout)
            if not self._blocks:
                return None
            block = self._blocks.popleft()
            self._waiting_s -= _length(block)
            self.caught_up |= self._waiting_s <= CAUGHT_UP_S
            return block


def _length(block: Block) -> float:
    return block.end - block.at
