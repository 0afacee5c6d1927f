"""From sound to lines: what comes while Fieldvoice speaks is dropped, and a line that this cut is
not taken for a whole one."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING

import numpy as np

from fieldvoice.commands.wiring.hearing.line_sound import LineSound
from fieldvoice.commands.wiring.hearing.loudness import LastLevels, clarity, is_speech, measured
from fieldvoice.commands.wiring.listening import CutShort, Line
from fieldvoice.devices.ears import RATE, Block, Sound
from fieldvoice.devices.ears.levels import levels

if TYPE_CHECKING:
    from fieldvoice.devices.recognizer import Recognizer, Utterance

KEPT_S = 120.0  # the longest sound that is kept of one line; a note may be long
LEAD_S = 0.5  # kept before the first word
FOUND_LATE_S = 2.0  # a word is known so long after its begin
BEFORE_S = 0.25  # speech so shortly before the ears opened ...
AFTER_S = 0.15  # ... or so shortly after it was under way already
REST_S = 0.6  # what follows so soon after a cut line is the rest of it
ENDED_S = 0.5  # silence that says that a line was whole when the ears closed
BEGIN_S = 0.9  # of sound that tells that someone speaks; a short word is over sooner than known
FAINT_DB = -60.0  # dBFS; softer is nobody who speaks to us

TALKING = "I was still talking. Say that again."
TALKED_OVER = "I talked over you. Say that again."
MISSED = "I missed a part of that. Say it again."

At = Callable[[float], bool]  # whether something held at a monotonic time


class Spoken:
    """Hears block after block; gives the lines, and what was cut short.

    `deaf_at`: Fieldvoice spoke then, and the sound is dropped. `off_at`: the push-to-talk key was
    off then; what was said until it went off is a whole line.
    """

    def __init__(
        self, recognizer: Recognizer, deaf_at: At = lambda t: False, off_at: At = lambda t: False
    ) -> None:
        self._recognizer = recognizer
        self._deaf_at, self._off_at = deaf_at, off_at
        self._kept = LineSound()
        self._floor = LastLevels()  # of what was heard
        self._before = LastLevels(BEFORE_S)  # of what came while deaf
        self._under_way_s = AFTER_S
        self._spoilt = False  # a part of the open line is missing
        self._ended: float | None = None  # when the last sound of the open line was captured
        self.words = ""  # of the open line so far

    def hear(self, block: Block) -> Iterator[Line | CutShort]:
        """Hear on; what has ended with this block."""
        if self._off_at(block.at):
            yield from self.finish()
        elif self._deaf_at(block.at) or self._deaf_at(block.end):
            yield from self._spoken_over()
            self._before.add(block.samples)
        else:
            yield from self._listen(block)

    def loud(self) -> bool:
        """Whether the last moment of what is heard stands out of the sound before it."""
        last = self._floor.last(BEGIN_S)
        return bool(len(last)) and float(last.max()) > FAINT_DB and is_speech(
            last, last, self._floor.last())

    def _listen(self, block: Block) -> Iterator[Line | CutShort]:
        if block.after_gap:
            self._missed_some()
        self._kept.add(block)
        self._ended = block.end
        self._floor.add(block.samples)
        utterance = self._recognizer.feed(block.samples)
        if utterance is not None:
            of_the_next = self._kept.without_last(self._recognizer.open_s())
            if of_the_next:
                self._ended = of_the_next[0].at
            cut = self._why_cut(self._kept.whole())
            yield from self._line(utterance, cut)
            self._begin(from_opening=bool(cut))
            for each in of_the_next:
                self._kept.add(each)
            self._before.clear()
            self._under_way_s = REST_S
            return
        self.words = known(self._recognizer.hearing())
        self._kept.drop_to(KEPT_S if self.words else LEAD_S + FOUND_LATE_S)

    def _missed_some(self) -> None:
        if self.words:
            self._spoilt = True
        else:
            self._recognizer.forget()
            self._begin(from_opening=True)

    def finish(self) -> Iterator[Line | CutShort]:
        """The key went off, or the recording has ended: and so has the line."""
        if self._kept:
            for utterance in self._all_open():
                yield from self._line(utterance, self._why_cut(self._kept.whole()))
        self._begin(from_opening=False)

    def _spoken_over(self) -> Iterator[Line | CutShort]:
        """Fieldvoice begins to speak: what was said until now is whole, or cut."""
        if self._kept:
            talking = is_speech(self._floor.last(ENDED_S), levels(self._kept.whole()),
                                self._floor.last())
            for utterance in self._all_open():
                cut = TALKED_OVER if talking else self._why_cut(self._kept.whole())
                yield from self._line(utterance, cut)
            self._before.clear()
        self._under_way_s = AFTER_S
        self._begin(from_opening=True)

    def _all_open(self) -> list[Utterance]:
        """What was heard and has not ended, one or two."""
        found = list(iter(self._recognizer.finish, None))
        self._recognizer.forget()
        return found

    def _line(self, utterance: Utterance, cut: str) -> Iterator[Line | CutShort]:
        sound = self._kept.whole()
        if not cut:
            utterance = self._recognizer.weighed(utterance, sound)
            ways = tuple((way.words, way.share) for way in utterance.ways)
            clear = clarity(sound, self._floor.last(), unlike=utterance.unlike)
            yield Line(utterance.words, "voice", utterance.confidence, sound, ways, clear.clipped,
                       measured(levels(sound), self._floor.last(), clipped=clear.clipped), clear,
                       self._ended)
        elif known(utterance.words):  # noise is not asked back
            yield CutShort(utterance.words, cut, sound)

    def _why_cut(self, sound: Sound) -> str:
        return MISSED if self._spoilt else TALKING if self._was_under_way(sound) else ""

    def _was_under_way(self, sound: Sound) -> bool:
        """Whether someone spoke already when the ears opened."""
        if not self._kept.from_opening:
            return False
        first = levels(sound[: int(RATE * self._under_way_s)])
        moment = np.concatenate([self._before.last(), first])
        return is_speech(moment, levels(sound), self._floor.last())

    def _begin(self, *, from_opening: bool) -> None:
        self._kept.begin(from_opening=from_opening)
        self.words, self._spoilt = "", False


def known(words: str) -> str:
    """The words, without what stands for sound that is no word."""
    return " ".join(word for word in words.split() if word != "[unk]")
