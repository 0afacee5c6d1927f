"""A recognizer that is ready when the ears open: it is loaded beside the opening of the job."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from fieldvoice.devices.recognizer import Recognizer


class ReadyEar:
    """Gives a recognizer each time it is called: first the one that it began to load, then fresh
    ones, since one that failed is not used again.
    """

    def __init__(self, load: Callable[[], Recognizer]) -> None:
        self._load = load
        loading = ThreadPoolExecutor(1, "load")
        self._first: Future[Recognizer] | None = loading.submit(load)
        loading.shutdown(wait=False)

    def __call__(self) -> Recognizer:
        """Raises what loading raises."""
        first, self._first = self._first, None
        return self._load() if first is None else first.result()
