"""Sound between the thread that captures it and the one that hears it; what is lost is counted."""

from __future__ import annotations

import threading
from collections import deque
from dataclasses import replace

from fieldvoice.devices.ears.block import Block

MOST_S = 20.0  # of sound that waits; a recognizer so far behind has lost the thread anyway


class WaitingSound:
    """A queue of blocks, bounded by their length in time: the oldest gives way, and is counted."""

    def __init__(self, most_s: float = MOST_S) -> None:
        self._most_s = most_s
        self._blocks: deque[Block] = deque()
        self._waiting_s = 0.0
        self._came = threading.Condition()
        self.lost_s = 0.0  # sound that nobody heard, since the start

    def put(self, block: Block) -> None:
        """Add sound; never waits."""
        with self._came:
            self._blocks.append(block)
            self._waiting_s += _length(block)
            while self._waiting_s > self._most_s and len(self._blocks) > 1:
                lost = _length(self._blocks.popleft())
                self._waiting_s -= lost
                self.lost_s += lost
                self._blocks[0] = replace(self._blocks[0], after_gap=True)
            self._came.notify()

    def get(self, timeout: float) -> Block | None:
        """The next block; None when none comes in `timeout` seconds."""
        with self._came:
            if not self._blocks:
                self._came.wait(timeout)
            if not self._blocks:
                return None
            block = self._blocks.popleft()
            self._waiting_s -= _length(block)
            return block


def _length(block: Block) -> float:
    return block.end - block.at
