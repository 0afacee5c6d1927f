"""A recognizer that knows the end of a line early: by its words and the silence after them.

An engine decodes in steps and sees a little ahead, so it tells the last word late and its own end
of a line later still. Here a silence makes it decode all that there is; its words say how long the
silence has to be, and are held until then. If someone speaks on, what comes is heard by itself;
`two_parts` says then whether it is the rest of the line ("four hundred ... twelve microns") or the
next one.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise

import numpy as np

from fieldvoice.devices.quiet import Quiet
from fieldvoice.devices.recognizer import RATE, Recognizer, Utterance
from fieldvoice.devices.two_parts import LineEnd, OneLine, Part, Sound, TwoParts

LOOK_S = 0.3  # of silence, after which the words may be a line: stops within words are shorter
LOOK_IN_NOISE_S = 0.4  # which covers weak words: a line was cut in two more often after 0.3 s
AHEAD_S = 0.3  # of the silence, mirrored: lets the engine tell the last word without ending
ASK_S = 0.2  # of sound until an engine's words are asked for again: it decodes in longer steps
UNTOLD_S = 1.6  # of sound without a word of it: an engine would have told one by then
REST_S = 2.0  # of speech behind a pause: longer is no rest of a figure, but the next line
LEAD_S = 2.0  # kept before the first word, which is told late
OVERLAP_S = 0.15  # of the silence that the next line begins with: its first sound may be faint


class EarlyEnd(Recognizer):
    """Hears with another recognizer; `line_end` says what may become of words.

    `one_line`: whether words with a pause between them are one line, and not one after another.
    """

    def __init__(
        self, engine: Recognizer, line_end: Callable[[str], LineEnd], one_line: OneLine,
        shortest_s: float,
    ) -> None:  # fmt: skip
        """`shortest_s`: no shorter silence ends anything."""
        self._engine = engine
        self._line_end = line_end
        self._shortest_s = shortest_s
        self._two_parts = TwoParts(engine, line_end, one_line)
        self._quiet = Quiet()
        self._heard = 0  # samples
        self._passed_on = 0  # samples whose words were passed on
        self._ended: deque[Part] = deque()  # not passed on yet
        self._first: Part | None = None  # a line that what is heard now may belong to
        self._begin()

    def hear(self, pcm: Sound) -> Utterance:
        """The whole of a sound as one utterance."""
        self.forget()
        return self._engine.hear(pcm)

    def feed(self, chunk: Sound) -> Utterance | None:
        """Hear on; an utterance once a silence has ended one that holds any word or [unk]."""
        self._quiet.hear(chunk)
        self._heard += len(chunk)
        self._kept.append(chunk)
        if self._held is None:
            self._hear_on([chunk])
        elif not self._is_silent():
            self._speaks_on(chunk)
        if self._held is not None and self._quiet.seconds >= self._wait_s:
            self._end(self._held)
        return self._pass_on()

    def hearing(self) -> str:
        """The words of the utterance that has not ended yet; may still change."""
        now = self._told() if self._held is None else self._held.before
        return f"{self._first.words} {now}".rstrip() if self._first else now

    def open_s(self) -> float:
        """How many seconds of the newest sound belong to what has not been passed on yet."""
        return (self._heard - self._passed_on) / RATE

    def finish(self) -> Utterance | None:
        """End the utterance that is open, as at the end of a file; call again for one more."""
        if not self._ended:
            last = self._held
            if last is None and (found := self._engine.finish()):
                last = self._part(found, found.words, self._heard)
            self._close(last)
            self._begin()
        return self._pass_on()

    def forget(self) -> None:
        """Drop what was heard of the open utterance."""
        self._engine.forget()
        self._ended.clear()
        self._first = None
        self._passed_on = self._heard
        self._begin()

    def _pass_on(self) -> Utterance | None:
        if not self._ended:
            return None
        part = self._ended.popleft()
        self._passed_on = part.end
        return part.utterance

    def _begin(self, kept: Sound | None = None) -> None:
        """A new line, with the sound that it begins with."""
        self._quiet.begin()
        self._kept = [] if kept is None else [kept]  # the sound of the open utterance
        self._held: Part | None = None  # ended for the engine, not for us
        self._wait_s = 0.0
        self._looked = False  # in this silence
        self._ask_at = 0  # samples

    def _told(self) -> str:
        """The engine's words so far."""
        if self._heard >= self._ask_at:
            self._words = self._engine.hearing()
            self._ask_at = self._heard + round(ASK_S * RATE)
        return self._words

    def _hear_on(self, chunks: list[Sound]) -> None:
        for at, chunk in enumerate(chunks, start=1):
            if (found := self._engine.feed(chunk)) is not None:
                self._ended_by_engine(found, chunks[at:])
        self._drop_silence()
        if self._may_look():
            self._look()
        elif self._first is not None and not self._goes_on(self._first):
            self._close(None)

    def _drop_silence(self) -> None:
        """A line begins with its first word, however long nobody spoke before."""
        if _seconds(self._kept) > 2 * LEAD_S and not self._told():
            self._kept = [self._last(LEAD_S)]

    def _ended_by_engine(self, found: Utterance, rest: list[Sound]) -> None:
        """The engine tells an end late: someone may speak on by then, and belong to the line."""
        spoke_on_s = self._quiet.spoke_on_s
        open_s = max(spoke_on_s + OVERLAP_S, _seconds(rest)) if spoke_on_s else _seconds(rest)
        begun = self._last(open_s) if open_s else None
        self._close(self._part(found, found.words, self._heard - round(open_s * RATE)))
        self._begin(begun)
        last = self._ended[-1]
        if spoke_on_s and last.is_line and self._line_end(last.words).may_go_on:
            self._first = self._ended.pop()

    def _speaks_on(self, chunk: Sound) -> None:
        """Someone speaks before the silence has ended the held words: on, or the next line."""
        assert self._held is not None
        begun = self._last(len(chunk) / RATE + OVERLAP_S)
        self._close(replace(self._held, end=self._heard - len(begun)))
        self._begin(begun)
        if self._line_may_go_on(self._ended[-1]):
            self._first = self._ended.pop()
        self._hear_on(self._kept)

    def _line_may_go_on(self, part: Part) -> bool:
        return any(self._line_end(words).may_go_on for words in (part.before, part.words))

    def _end(self, held: Part) -> None:
        """The line is at its end; the next one begins with some of the silence."""
        begun = self._last(OVERLAP_S)
        self._close(replace(held, end=self._heard - len(begun)))
        self._begin(begun)
        self._engine.feed(begun)

    def _close(self, found: Part | None) -> None:
        """Pass on what was heard, with the line before as one where they are one."""
        first, self._first = self._first, None
        if first and found:
            self._ended.extend(self._two_parts.settled(first, found, self._quiet.clear))
        else:
            self._ended.extend(one for one in (first, found) if one is not None)

    def _goes_on(self, first: Part) -> bool:
        """Whether what is heard, or not told yet, may belong to the line before."""
        if not (words := self._told()):
            return _seconds(self._kept) <= UNTOLD_S
        if not first.is_line:
            return True
        end = self._line_end(f"{first.words} {words}")
        return (end.is_line or end.may_go_on) and _seconds(self._kept) <= REST_S

    def _may_look(self) -> bool:
        """Whether the silence is new and long enough."""
        self._looked &= self._is_silent()
        spoke = self._quiet.spoke or self._first is not None
        return spoke and self._is_silent() and not self._looked

    def _is_silent(self) -> bool:
        return self._quiet.seconds >= (LOOK_S if self._quiet.clear else LOOK_IN_NOISE_S)

    def _look(self) -> None:
        """Let the engine decode all that came, and hold its words."""
        self._looked = True
        ended = self._engine.feed(self._last(AHEAD_S)[::-1])
        words = ended.words if ended else self._engine.hearing()
        sentences = [ended] if ended else []
        sentences += iter(self._engine.finish, None)
        if not sentences:
            self._close(None)
            self._begin()
            return
        for one, after in pairwise(sentences):
            self._cut(one, after, sentences[-1].parts[-1].end)
        found = sentences[-1]
        self._held = self._part(found, words or found.words, self._heard)
        if self._first and self._two_parts.apart(self._first, self._held, self._quiet.clear):
            self._close(None)  # the line before; of this one more may come
        self._wait_s = max(self._shortest_s, self._silence_s(self._held))

    def _cut(self, one: Utterance, after: Utterance, end: float) -> None:
        """A pause that noise hid, or that was too short: between two sentences of the engine."""
        pause = (one.parts[-1].end + after.parts[0].start) / 2
        behind = self._last(end - pause + self._quiet.seconds)
        self._kept = [np.concatenate(self._kept)[: -len(behind)]]
        self._close(self._part(one, one.words, self._heard - len(behind)))
        self._kept = [behind]

    def _silence_s(self, held: Part) -> float:
        """How long a silence ends the held words, with what they may go on."""
        ways = [held.before, held.words]
        if self._first:
            ends = [self._line_end(f"{self._first.words} {way}") for way in ways]
            if all(end.is_line for end in ends):
                return max(end.silence_s for end in ends)
        return max(self._line_end(way).silence_s for way in ways)

    def _part(self, found: Utterance, before: str, end: int) -> Part:
        ways = (before, found.words)
        is_line = all(self._line_end(words).is_line for words in ways)
        return Part(found, before, is_line, np.concatenate([*self._kept, _NONE]), end)

    def _last(self, seconds: float) -> Sound:
        return np.concatenate(self._kept)[-round(seconds * RATE) :]


_NONE = np.zeros(0, dtype=np.int16)


def _seconds(chunks: list[Sound]) -> float:
    return sum(map(len, chunks)) / RATE
