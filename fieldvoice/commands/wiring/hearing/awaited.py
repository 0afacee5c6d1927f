"""What the job waits for, asked by ears that are made ready before the job is open."""

from __future__ import annotations

from collections.abc import Callable

from fieldvoice.language.intents import Intent


class Awaited:
    """Whether the job waits for what was said; for nothing until `by` is set to a job's answer."""

    def __init__(self) -> None:
        self.by: Callable[[Intent], bool] = lambda said: False

    def __call__(self, said: Intent) -> bool:
        """Asked from the recognizer's thread; the job's state never changes, it is replaced."""
        return self.by(said)
