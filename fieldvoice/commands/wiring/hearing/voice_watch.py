"""A voice that stands still: told on the screen, as nothing else would be heard of it."""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import Protocol

from fieldvoice.commands.wiring.hearing.watch import Beat, Work

LOOK_S = 0.5
STOPPED = "The voice has stopped; replies are on the screen."
GOES_ON = "The voice goes on."


class _Voice(Protocol):
    @property
    def stuck(self) -> bool:
        """Whether something waits to be said, and for too long nothing has been done about it."""
        ...


def watched(voice: _Voice, notice: Callable[[str], None], look_s: float = LOOK_S) -> Work:
    """Work that tells when the voice stops, and when it goes on.

    It counts as stopped when it is so in two looks: after a sleep of the computer's all threads
    have long done nothing.
    """

    def work(beat: Beat) -> None:
        told = before = False
        while beat():
            stuck = voice.stuck
            if stuck == before and stuck != told:
                notice(STOPPED if stuck else GOES_ON)
                told = stuck
            before = stuck
            time.sleep(look_s)

    return work
