"""Notes heard again with a larger model, in a thread of its own: a proposal for the reviewer."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from queue import Queue
from threading import Lock, Thread

Hear = Callable[[Path], str]  # a sound file -> its words; what it raises is shown


@dataclass(frozen=True)
class Proposal:
    """What is known of one sound: `state` is "waiting", "ready" or "failed"."""

    state: str
    text: str = ""  # the words, or why there are none


class Transcriber:
    """Hears one sound after the other; the model is loaded with the first one."""

    def __init__(self, load: Callable[[], Hear]) -> None:
        self._load = load
        self._found: dict[Path, Proposal] = {}
        self._lock = Lock()
        self._queue: Queue[Path] = Queue()
        self._thread: Thread | None = None

    def ask(self, sound: Path) -> None:
        """Have a sound heard; one that waits or is ready is not heard again."""
        with self._lock:
            before = self._found.get(sound)
            if before is not None and before.state != "failed":
                return
            self._found[sound] = Proposal("waiting")
            self._queue.put(sound)
            if self._thread is None:
                self._thread = Thread(target=self._run, name="notes", daemon=True)
                self._thread.start()

    def of(self, sound: Path) -> Proposal | None:
        """What is known of a sound; None: it was not asked for."""
        with self._lock:
            return self._found.get(sound)

    def _run(self) -> None:
        hear: Hear | None = None
        while True:
            sound = self._queue.get()
            try:
                hear = hear or self._load()
                proposal = Proposal("ready", hear(sound))
            except Exception as error:  # the page says so; the next sound may do
                proposal = Proposal("failed", str(error))
            with self._lock:
                self._found[sound] = proposal
