"""A recognizer that knows the end of a line early: by its words and the silence after them.

An engine decodes in steps and sees a little ahead, so it tells the last word late and its own end
of a line later still. Here a silence makes it decode all that there is; its words say how long the
silence has to be, and are held until then. If someone speaks on, the engine either goes on with
the sound of the line from its beginning (half a sentence), or hears what comes by itself, and the
two are one line where their words together are one ("four hundred ... twelve microns").
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from fieldvoice.devices.joined import joined
from fieldvoice.devices.quiet import Quiet
from fieldvoice.devices.recognizer import RATE, Recognizer, Utterance

Sound = NDArray[np.int16]
LONGEST_S = 8.0  # of a line that may have to be heard again; the engine ends longer ones
AHEAD_S = 0.2  # of the silence, mirrored: lets the engine tell the last word without ending
UNTOLD_S = 1.6  # of sound without a word of it: an engine would have told one by then
LEAD_S = 2.0  # kept before the first word, which is told late
OVERLAP_S = 0.15  # of the silence that the next line begins with: its first sound may be faint


class LineEnd(Protocol):
    """What may become of words."""

    @property
    def silence_s(self) -> float:
        """How long a silence ends them, in seconds."""

    @property
    def is_line(self) -> bool:
        """Whether they are a sentence."""

    @property
    def may_go_on(self) -> bool:
        """Whether what follows after a pause may belong to them."""


class EarlyEnd(Recognizer):
    """Hears with another recognizer; `line_end` says what may become of words."""

    def __init__(
        self, engine: Recognizer, line_end: Callable[[str], LineEnd], shortest_s: float
    ) -> None:
        """`shortest_s`: no shorter silence ends anything."""
        self._engine = engine
        self._line_end = line_end
        self._shortest_s = shortest_s
        self._quiet = Quiet()
        self._ended: deque[Utterance] = deque()  # not passed on yet
        self._first: Utterance | None = None  # a line that what is heard now may belong to
        self._waiting_s = 0.0  # of sound that the last one of them has
        self._begin()

    def hear(self, pcm: Sound) -> Utterance:
        """The whole of a sound as one utterance."""
        self.forget()
        return self._engine.hear(pcm)

    def feed(self, chunk: Sound) -> Utterance | None:
        """Hear on; an utterance once a silence has ended one that holds any word or [unk]."""
        self._quiet.hear(chunk)
        self._kept.append(chunk)
        if self._held is None:
            self._hear_on([chunk])
        elif self._quiet.seconds < self._shortest_s:
            self._resume()
        if self._held is not None and self._quiet.seconds >= self._wait_s:
            self._end(self._held)
        return self._ended.popleft() if self._ended else None

    def hearing(self) -> str:
        """The words of the utterance that has not ended yet; may still change."""
        now = self._engine.hearing() if self._held is None else self._held_words
        return f"{self._first.words} {now}".rstrip() if self._first else now

    def open_s(self) -> float:
        """How many seconds of the newest sound belong to what has not been passed on yet."""
        return self._waiting_s if self._ended else _seconds(self._kept)

    def finish(self) -> Utterance | None:
        """End the utterance that is open, as at the end of a file; call again for one more."""
        if not self._ended:
            last = self._held or self._engine.finish()
            self._close(last)
            self._begin()
        return self._ended.popleft() if self._ended else None

    def forget(self) -> None:
        """Drop what was heard of the open utterance."""
        self._engine.forget()
        self._ended.clear()
        self._first = None
        self._begin()

    def _begin(self) -> None:
        self._quiet.begin()
        self._kept: list[Sound] = []  # the sound of the open utterance
        self._held: Utterance | None = None  # ended for the engine, not for us
        self._held_words = ""  # as they were heard before they had to be a sentence
        self._held_is_line = False  # and not half of one that the engine could not leave so
        self._wait_s = 0.0
        self._looked = False  # in this silence

    def _hear_on(self, chunks: list[Sound]) -> None:
        for at, chunk in enumerate(chunks, start=1):
            if (found := self._engine.feed(chunk)) is not None:
                self._ended_by_engine(found, chunks[at:])
        self._drop_silence()
        if self._may_look():
            self._look()
        elif self._first is not None and not self._goes_on():
            self._close(None)

    def _drop_silence(self) -> None:
        """A line begins with its first word, however long nobody spoke before."""
        if _seconds(self._kept) > 2 * LEAD_S and not self._engine.hearing():
            self._kept = [self._last(LEAD_S)]

    def _ended_by_engine(self, found: Utterance, rest: list[Sound]) -> None:
        """The engine tells an end late: someone may speak on by then, and belong to the line."""
        spoke_on_s = self._quiet.spoke_on_s
        if spoke_on_s:
            rest = [self._last(max(spoke_on_s + OVERLAP_S, _seconds(rest)))]
        self._close(found)
        self._begin()
        self._kept = rest
        end = self._line_end(self._ended[-1].words)
        if spoke_on_s and end.is_line and end.may_go_on:
            self._first = self._ended.pop()

    def _resume(self) -> None:
        """Someone speaks on before the silence has ended the held words."""
        by_itself = self._held_is_line and self._first is None
        if by_itself:
            first, chunks = self._held, [self._last(OVERLAP_S)]
            self._begin()
            self._first, self._kept = first, chunks
        self._held = None
        self._hear_on(self._kept)

    def _end(self, found: Utterance) -> None:
        """The line is at its end; the next one begins with some of the silence."""
        begun = self._last(OVERLAP_S)
        self._close(found)
        self._begin()
        self._kept = [begun]
        self._engine.feed(begun)

    def _close(self, found: Utterance | None) -> None:
        """Pass on what was heard, with the line before as one where they are one."""
        first, self._first = self._first, None
        self._waiting_s = _seconds(self._kept)
        if first and found and self._line_end(f"{first.words} {found.words}").is_line:
            self._ended.append(joined(first, found))
        else:
            self._ended.extend(one for one in (first, found) if one is not None)

    def _goes_on(self) -> bool:
        """Whether what is heard, or not told yet, may belong to the line before."""
        assert self._first is not None
        if not (words := self._engine.hearing()):
            return _seconds(self._kept) <= UNTOLD_S
        end = self._line_end(f"{self._first.words} {words}")
        return end.is_line or end.may_go_on

    def _may_look(self) -> bool:
        """Whether the silence is new and long enough, and the line not too long to go on with."""
        quiet = self._quiet
        self._looked &= quiet.seconds >= self._shortest_s
        spoke = quiet.spoke or self._first is not None
        long_enough = spoke and quiet.seconds >= self._shortest_s
        return long_enough and not self._looked and _seconds(self._kept) <= LONGEST_S

    def _look(self) -> None:
        """Let the engine decode all that came, and hold its words."""
        self._looked = True
        ended = self._engine.feed(self._last(AHEAD_S)[::-1])
        words = ended.words if ended else self._engine.hearing()
        found = ended or self._engine.finish()
        if found is None:
            self._close(None)
            self._begin()
            return
        before = f"{self._first.words} " if self._first else ""
        ways_on = [self._line_end(before + now) for now in (words, found.words)]
        if before and not all(end.is_line for end in ways_on):
            ways_on = [self._line_end(now) for now in (words, found.words)]
        self._held_words = words or found.words
        self._held, self._held_is_line = found, all(end.is_line for end in ways_on)
        self._wait_s = max(end.silence_s for end in ways_on)

    def _last(self, seconds: float) -> Sound:
        return np.concatenate(self._kept)[-round(seconds * RATE) :]


def _seconds(chunks: list[Sound]) -> float:
    return sum(map(len, chunks)) / RATE
