"""The ears of a job at work: microphone and recognizer in watched threads, and how they stand."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from fieldvoice.commands.wiring.hearing.behind import Behind
from fieldvoice.commands.wiring.hearing.key import TalkKey
from fieldvoice.commands.wiring.hearing.spoken import At, Spoken
from fieldvoice.commands.wiring.hearing.watch import Beat, Watch
from fieldvoice.commands.wiring.listening import Arrivals, CutShort, Ended, Line
from fieldvoice.devices.ears import Block, Flatness

if TYPE_CHECKING:
    from fieldvoice.devices.ears import Microphone
    from fieldvoice.devices.recognizer import Recognizer

RECOGNIZER = "recognizer"  # the name of its thread
PATIENCE_S = 0.5  # between beats while no sound comes
KEEPER_STALL_S = 10.0  # opening a device may wait for the sound server; its loss shows before
STALE_S = 2.0  # words that have not changed for so long are noise
TOO_LOUD_EVERY_S = 60.0
MOST_CUT = 2  # asked again so often in a row: then it is noise, or our own echo

TOO_LOUD = "Too loud. Move the microphone away."
SILENT = "The microphone gives silence: is it muted?"
SOUND_BACK = "The microphone gives sound again."
RECORDING_ENDED = "The recording has ended."
KEEP_HEARING = "I keep hearing noise, or myself. Type softer, or use a headset."


@dataclass(frozen=True)
class EarsStanding:
    """How the ears stand at a moment."""

    state: str  # "listening", "deaf" (Fieldvoice speaks), "lost", "off" or "push-to-talk"
    level_db: float  # the highest of the last 0.2 s, dB below full scale
    clipping: bool = False
    hearing: str = ""  # the words so far
    rms_db: float = -96.0  # of the last 0.2 s
    silent: bool = False  # the microphone gives no sound at all: muted?
    missed_s: float = 0.0  # sound that nobody heard because the recognizer was behind, in all


class Ears:
    """Lines heard go into `arrivals`; `tell` says and shows what the user must know.

    `load` gives a recognizer, and a fresh one whenever the last one failed. `deaf_at` tells
    whether Fieldvoice was to be heard at a monotonic time.
    """

    def __init__(
        self, microphone: Microphone, load: Callable[[], Recognizer], arrivals: Arrivals,
        deaf_at: At, tell: Callable[[str], None], watch: Watch, push_to_talk: bool = False,
    ) -> None:
        self._microphone, self._load, self._arrivals = microphone, load, arrivals
        self._deaf_at, self._tell, self._watch = deaf_at, tell, watch
        self.key = TalkKey(push_to_talk)
        self._flatness = Flatness()
        self._words, self._words_since = "", 0.0
        self._spoken: Spoken | None = None
        self._over = False
        self._told_loud_at = float("-inf")
        self._cut_in_a_row = 0

    def start(self) -> None:
        """Begin to listen."""
        self._watch.run(RECOGNIZER, self._listen)
        self._watch.run("microphone", self._microphone.keep, KEEPER_STALL_S)
        self._watch.run("behind", Behind(self._microphone, self._tell).watch, KEEPER_STALL_S)

    def someone_speaks(self) -> bool:
        """Whether words are being heard right now."""
        return bool(self._words) and time.monotonic() - self._words_since < STALE_S

    def someone_begins(self) -> bool:
        """Whether something sounds, or just did, that may become words: they are known later."""
        return self._spoken is not None and self._spoken.loud()

    def standing(self) -> EarsStanding:
        """How they stand now."""
        meter = self._microphone.meter
        return EarsStanding(
            self._state(), meter.peak_db(), meter.clipping(), self._words, meter.rms_db(),
            self._flatness.flat, self._microphone.missed_s,
        )

    def talk(self, on: bool) -> None:
        """The push-to-talk key: heard only while it is on."""
        self.key.turn(on)

    def close(self) -> None:
        """Stop listening."""
        self._over = True
        self._microphone.close()

    def _state(self) -> str:
        if self._over or self._watch.failing(RECOGNIZER):
            return "off"
        if self._microphone.lost:
            return "lost"
        if not self.key.on:
            return "push-to-talk"
        return "deaf" if self._deaf_at(time.monotonic()) else "listening"

    def _listen(self, beat: Beat) -> None:
        """The recognizer's thread."""
        self._words = ""
        self._spoken = spoken = Spoken(self._load(), self._deaf_at, self.key.off_at)
        while beat():
            block = self._microphone.block(PATIENCE_S)
            if block is not None:
                found = tuple(spoken.hear(block))
                if beat():  # else another thread has taken over: what is heard late is old
                    self._heard(block, found, spoken.words)
            elif self._microphone.ended:
                self._recording_over(spoken)
                return

    def _heard(self, block: Block, found: tuple[Line | CutShort, ...], words: str) -> None:
        if words != self._words:
            self._words, self._words_since = words, time.monotonic()
        for arrived in found:
            self._arrived(arrived)
        self._notice(block)

    def _arrived(self, arrived: Line | CutShort) -> None:
        if isinstance(arrived, CutShort):
            self._cut_in_a_row += 1
            if self._cut_in_a_row > MOST_CUT:
                if self._cut_in_a_row == MOST_CUT + 1:
                    self._tell(KEEP_HEARING)
                return
        else:
            self._cut_in_a_row = 0
            if arrived.clipped and time.monotonic() - self._told_loud_at > TOO_LOUD_EVERY_S:
                self._told_loud_at = time.monotonic()
                self._tell(TOO_LOUD)
        self._arrivals.put(arrived)

    def _notice(self, block: Block) -> None:
        """What the sound tells of the microphone."""
        flat = self._flatness.add(block)
        if flat is not None:
            self._tell(SILENT if flat else SOUND_BACK)

    def _recording_over(self, spoken: Spoken) -> None:
        for arrived in spoken.finish():
            self._arrived(arrived)
        self._over = True
        self._tell(RECORDING_ENDED)
        self._arrivals.put(Ended("voice"))
