"""Threads that must not die: one that ends by an error, or stands still, is told of and replaced.

A thread's work is given a `beat`, to be called often; it tells that all is well, and answers
whether the work goes on: not once another thread has taken it over, or at the end of the job.
"""

from __future__ import annotations

import sys
import threading
import time
import traceback
from collections.abc import Callable
from dataclasses import dataclass, field

from fieldvoice.commands.wiring.hearing.processor_time import processor_s

Beat = Callable[[], bool]
Work = Callable[[Beat], None]

CHECK_S = 0.25
STALL_S = 1.5  # so that it is noticed within two seconds
START_S = 20.0  # until the first beat: loading may take long on a slow computer
WELL_S = 1.0  # of work until it counts as working again
MANY = 3  # failures ...
MANY_IN_S = 60.0  # ... within so long: what is tried again grows rarer
LATER_S = (5.0, 10.0, 20.0, 40.0, 60.0)
MOST_LEFT = 2  # threads of one work that stand still for good: each keeps what it has loaded
STIRS_S = 0.001  # of processor time: a thread that got no more since the last look may stand still


@dataclass(frozen=True)
class Trouble:
    """What befell a thread."""

    name: str
    state: str  # "failed": it starts anew; "failing": again and again, tried later; "back"
    why: str = ""  # where it stood, for a file


@dataclass
class _Run:
    """One thread that does a piece of work."""

    began: float
    thread: threading.Thread | None = None
    last: float | None = None  # the last beat
    first: float | None = None
    error: str = ""
    over: bool = False  # its work has come to its end
    wanted: bool = True
    at_beat_s: float = 0.0  # processor time that it had used by its last beat
    used_s: float = 0.0  # by a look
    stirred: float = 0.0  # when a look found that it had used more


@dataclass
class _Kept:
    """A piece of work that is kept going."""

    name: str
    work: Work
    stall_s: float | None
    run: _Run
    failures: list[float] = field(default_factory=list)
    told: str = ""
    again_at: float | None = None  # when the next thread is started
    left: list[threading.Thread] = field(default_factory=list)  # given up, perhaps not ended


class Watch:
    """Runs pieces of work, each in a thread, and looks after them in one more."""

    def __init__(
        self, tell: Callable[[Trouble], None], now: Callable[[], float] = time.monotonic
    ) -> None:
        self._tell, self._now = tell, now
        self._kept: list[_Kept] = []
        self._closed = threading.Event()
        self._thread: threading.Thread | None = None
        self._looked = now()

    def run(self, name: str, work: Work, stall_s: float | None = STALL_S) -> None:
        """Do a piece of work; `stall_s`: the longest time between beats, None where it may wait."""
        kept = _Kept(name, work, stall_s, _Run(self._now()))
        self._kept.append(kept)
        self._start(kept)
        if self._thread is None:
            self._thread = threading.Thread(target=self._look_after, name="watch", daemon=True)
            self._thread.start()

    def failing(self, name: str) -> bool:
        """Whether a piece of work fails again and again."""
        return any(kept.told == "failing" for kept in self._kept if kept.name == name)

    def close(self, patience_s: float = 1.5) -> None:
        """Ask all to end, and wait a moment for those that beat."""
        self._closed.set()
        until = time.monotonic() + patience_s
        for kept in self._kept:
            if kept.run.thread is not None and kept.stall_s is not None:
                kept.run.thread.join(max(0.0, until - time.monotonic()))

    def look(self) -> None:
        """See once how all are; the watch's own thread does so every CHECK_S."""
        now = self._now()
        if now - self._looked > CHECK_S + STALL_S / 2:  # everyone slept: the computer, or we
            for kept in self._kept:
                kept.run.began = now
                kept.run.last = now if kept.run.last is not None else None
        self._looked = now
        for kept in self._kept:
            self._look_at(kept, now)

    def _look_after(self) -> None:
        while not self._closed.wait(CHECK_S):
            self.look()

    def _look_at(self, kept: _Kept, now: float) -> None:
        if kept.again_at is not None:
            if now >= kept.again_at:
                self._start_again(kept, now)
            return
        if kept.run.over:
            return
        why = kept.run.error or _standing_still(kept, now)
        if why:
            self._failed(kept, now, why)
        elif kept.told and kept.run.first is not None and now - kept.run.first >= WELL_S:
            kept.told = ""
            self._tell(Trouble(kept.name, "back"))

    def _start_again(self, kept: _Kept, now: float) -> None:
        kept.left = [thread for thread in kept.left if thread.is_alive()]
        if len(kept.left) > MOST_LEFT:  # one more would take more memory, and fare no better
            kept.again_at = now + LATER_S[-1]
            if kept.told != "failing":
                kept.told = "failing"
                self._tell(Trouble(kept.name, "failing"))
            return
        kept.again_at = None
        kept.run = _Run(now)
        self._start(kept)

    def _failed(self, kept: _Kept, now: float, why: str) -> None:
        kept.run.wanted = False
        if kept.run.thread is not None:
            kept.left.append(kept.run.thread)
        kept.failures.append(now)
        lately = sum(now - failed <= MANY_IN_S for failed in kept.failures)
        state = "failed" if lately < MANY else "failing"
        delay = 0.0 if lately < MANY else LATER_S[min(lately - MANY, len(LATER_S) - 1)]
        kept.again_at = now + delay
        worse = state != kept.told and kept.told != "failing"
        kept.told = kept.told if kept.told == "failing" else state
        self._tell(Trouble(kept.name, state if worse else "", why))

    def _start(self, kept: _Kept) -> None:
        run = kept.run

        def beat() -> bool:
            run.last = self._now()
            run.at_beat_s = time.thread_time()
            run.first = run.last if run.first is None else run.first
            return run.wanted and not self._closed.is_set()

        def work() -> None:
            try:
                kept.work(beat)
                run.over = True
            except BaseException:  # whatever it is, it must not go unnoticed
                run.error = traceback.format_exc()

        run.thread = threading.Thread(target=work, name=kept.name, daemon=True)
        run.thread.start()


def _standing_still(kept: _Kept, now: float) -> str:
    """Where a thread stands that gave no beat for too long; "" for one that does well.

    A thread that works, but hardly gets the processor, is slow and no more: another one beside it
    would be slower still, and take as much memory again.
    """
    run = kept.run
    if kept.stall_s is None or run.thread is None:
        return ""
    used_s = processor_s(run.thread)
    if used_s is not None and used_s - run.used_s > STIRS_S:
        run.used_s, run.stirred = used_s, now
    since, most_s = (run.began, START_S) if run.last is None else (run.last, kept.stall_s)
    if now - since <= most_s:
        return ""
    slow = used_s is not None and used_s - run.at_beat_s <= most_s
    if slow and now - run.stirred <= max(STALL_S, kept.stall_s):
        return ""
    frame = sys._current_frames().get(run.thread.ident or 0)
    where = "".join(traceback.format_stack(frame)) if frame else ""
    return f"{kept.name} stands still:\n{where}"
