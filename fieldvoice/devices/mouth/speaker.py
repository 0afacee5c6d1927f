"""The voice of a job: says replies in a thread of its own, most urgent first, until hushed."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import replace

import numpy as np

from fieldvoice.devices.mouth.errors import LoudspeakerError, VoiceError
from fieldvoice.devices.mouth.level import amplified
from fieldvoice.devices.mouth.loudspeaker import RATE, Loudspeaker, Sound
from fieldvoice.devices.mouth.opening import Opening
from fieldvoice.devices.mouth.pieces import pieces
from fieldvoice.devices.mouth.tones import tone as tone_sound
from fieldvoice.devices.mouth.voices import Voices
from fieldvoice.devices.mouth.waiting import Utterance, Waiting

RATES = (110, 130, 160, 180, 205, 240)  # words a minute, slowest to fastest
GAINS_DB = (-18.0, -12.0, -6.0, 0.0, 6.0, 12.0)
_USUAL_RATE, _USUAL_GAIN = 2, 3

BEAT_S = 0.5  # the thread shows at least this often that it lives; more often while it speaks
_SPEAKING_BEAT_S = 0.05
RETRY_S = (1.0, 2.0, 4.0, 8.0, 15.0, 30.0)  # after a loudspeaker was lost
_CLOSING_S = 30.0  # for the last words
HANGS_S = 12.0  # longer than a voice may take
TONE_WORTH_S = 2.0  # a tone that comes later tells of nothing any more
_PAUSE = np.zeros(int(0.15 * RATE), np.int16)  # between two pieces
_INSTEAD = "replies are on the screen only"


class Speaker:
    """Says replies one after the other.

    `trouble` is told once when saying fails, and again only after it has worked; it may be called
    from the speaker's own thread. `someone_speaks` says whether the technician is speaking now:
    what protects nobody waits for the end of it. Times are steady ones, `time.monotonic()`.
    """

    def __init__(
        self,
        trouble: Callable[[str], None],
        someone_speaks: Callable[[], bool] = lambda: False,
        voices: Voices | None = None,
        loudspeaker: Loudspeaker | None = None,
    ) -> None:
        self.someone_speaks = someone_speaks
        self.last_alive = time.monotonic()  # of the thread; stale while a device holds it up
        self._trouble = trouble
        self._voices, self._loudspeaker = voices or Voices(), loudspeaker or Loudspeaker()
        self._rate, self._gain, self._quiet = _USUAL_RATE, _USUAL_GAIN, False
        self._waiting = Waiting()
        self._saying: Utterance | None = None
        self._hushes = 0  # how often it was hushed: what was begun before is over
        self._turn, self._asked, self._opens = 0, True, False
        self.opening = Opening(lambda: False)
        self._voiceless = self._failing = False
        self._open = self._lost = self._closing = False
        self._tries, self._retry_at = 0, 0.0
        self._changed = threading.Condition()
        self._thread = threading.Thread(target=self._work, name="mouth", daemon=True)
        self._thread.start()

    def new_turn(self, *, asked: bool, opening: bool = False) -> None:
        """What is said from now on belongs together; `asked`: it answers a line that came in;
        `opening`: it is said before any line."""
        self._turn += 1
        self._asked, self._opens = asked, opening

    def end_opening(self, *, by_key: bool) -> None:
        """A line came in: the opening goes no further. Its cautions are still said, after the
        answer, unless the line came from someone at the keys, who has them before his eyes.
        """
        with self._changed:
            self._waiting.end_opening(cautions=by_key)
            if self._saying is not None and self._saying.ends_with_opening(by_key):
                self._hushes += 1
                self._loudspeaker.hush()
            self._changed.notify_all()

    def say(self, text: str, tone: str = "answer") -> None:
        """Say a text of a Reply's tone when its time comes; returns at once."""
        if text and not self._quiet:
            self._add(Utterance(text, tone, self._turn, self._asked, time.monotonic(),
                                opening=self._opens))

    def signal(self, kind: str) -> None:
        """Sound "heard", "asked-back" or "not-taken" where no words tell it: call after say()."""
        if self._quiet or self._voiceless or not self.speaking():
            self._add(Utterance(kind, "tone", self._turn, since=time.monotonic()))

    def hush(self) -> None:
        """Stop what sounds now, and drop what waits."""
        with self._changed:
            self._hushes += 1
            self._waiting.clear()
            self._loudspeaker.hush()
            self._changed.notify_all()

    def change(self, change: str) -> None:
        """louder, softer, slower, faster, quiet (screen and tones) or aloud. Raises ValueError."""
        if change in {"quiet", "aloud"}:
            self._quiet = change == "quiet"
        elif change in {"louder", "softer"}:
            step = 1 if change == "louder" else -1
            self._gain = min(max(self._gain + step, 0), len(GAINS_DB) - 1)
        elif change in {"faster", "slower"}:
            step = 1 if change == "faster" else -1
            self._rate = min(max(self._rate + step, 0), len(RATES) - 1)
        else:
            raise ValueError(f"a voice cannot be made {change!r}")

    def sounding_at(self, moment: float) -> bool:
        """Whether the loudspeaker sounded, its tail included, at a time of the last minute."""
        return self._loudspeaker.sounding.at(moment)

    def speaking(self) -> bool:
        """Whether something sounds, or is about to."""
        with self._changed:
            return not self._done() or self.sounding_at(time.monotonic())

    @property
    def standing(self) -> str:
        """ "lost" (no loudspeaker, no voice), "off" (asked to be quiet), "speaking" or "silent"."""
        if self._lost or self._voiceless or self.stuck:
            return "lost"
        if self.sounding_at(time.monotonic()):
            return "speaking"
        return "off" if self._quiet else "silent"

    @property
    def stuck(self) -> bool:
        """Whether something waits to be said and the thread has stood still for too long; takes no
        lock, as who hangs may hold it.
        """
        return not self._done() and time.monotonic() - self.last_alive > HANGS_S

    def wait(self) -> None:
        """Return when all has been said."""
        with self._changed:
            self._changed.wait_for(self._done)

    def close(self) -> None:
        """Finish what is being said and stop; a device that hangs is not waited for."""
        until = time.monotonic() + _CLOSING_S
        with self._changed:
            while not self._done() and time.monotonic() < min(until, self.last_alive + HANGS_S):
                self._changed.wait(_SPEAKING_BEAT_S)
            self._closing = True
            self._changed.notify_all()
        self._thread.join(2.0)

    def _done(self) -> bool:
        return self._saying is None and not self._waiting

    def _add(self, utterance: Utterance) -> None:
        with self._changed:
            self._waiting.add(utterance)
            self._changed.notify_all()

    def _work(self) -> None:
        while not self._closing:
            try:
                self._turn_once()
            except VoiceError as error:
                self._voiceless = True
                self._tell_failure(f"{error}; replies are on the screen, and tones")
            except LoudspeakerError:
                continue  # told where it is opened again
            except Exception as error:  # whatever fails, the next reply is tried
                self._tell_failure(f"the voice failed ({error!r}); replies are on the screen")
        while self.sounding_at(time.monotonic()):
            time.sleep(_SPEAKING_BEAT_S)
        self._loudspeaker.close()

    def _turn_once(self) -> None:
        self.last_alive = time.monotonic()
        self._keep_loudspeaker()
        someone = self._someone()
        with self._changed:
            now = time.monotonic()
            self._saying = self._waiting.next(now, someone, self.opening.holds(now))
            if self._saying is None:
                self._changed.wait(_SPEAKING_BEAT_S if self._waiting else BEAT_S)
                return
            hushes = self._hushes
        try:
            if not self._lost:
                self._say(self._saying, hushes)
        except LoudspeakerError:
            self._say_again(self._saying)
            raise
        finally:
            with self._changed:
                if self._saying.opening:
                    self.opening.part_ends(self._loudspeaker.sounding.end())
                self._saying = None
                self._changed.notify_all()

    def _say(self, utterance: Utterance, hushes: int) -> None:
        """Synthesize and play piece after piece; the first sounds while the second is made."""
        for sound in self._sounds(utterance):
            self._loudspeaker.rouse()  # a device may hang here, and the lock is asked for by others
            with self._changed:
                if hushes != self._hushes:
                    return
                self._loudspeaker.play(sound)
            if self._is_cut(utterance, hushes):
                return
        while left_s := self._loudspeaker.left_s():
            with self._changed:
                self._changed.wait(min(left_s, _SPEAKING_BEAT_S))
            self.last_alive = time.monotonic()
            if self._loudspeaker.lost:
                raise LoudspeakerError(f"the loudspeaker is lost; {_INSTEAD}")
            if self._is_cut(utterance, hushes):
                return
        if utterance.tone != "tone":
            self._failing = self._voiceless = False

    def _sounds(self, utterance: Utterance) -> Iterator[Sound]:
        if utterance.tone == "tone":
            if time.monotonic() - utterance.since < TONE_WORTH_S:
                yield amplified(tone_sound(utterance.text), GAINS_DB[self._gain])
            return
        for piece in pieces(utterance.text):
            sound = self._voices.say(piece, RATES[self._rate])
            yield np.concatenate([amplified(sound, GAINS_DB[self._gain]), _PAUSE])

    def _is_cut(self, utterance: Utterance, hushes: int) -> bool:
        """Whether to go on no further: hushed, or an alert breaks in; then it is said again."""
        someone = self._someone()
        with self._changed:
            if hushes != self._hushes:
                return True
            if not self._waiting.breaks_in(utterance, time.monotonic(), someone):
                return False
            self._waiting.add(utterance, first=True)
            self._loudspeaker.hush()
            return True

    def _say_again(self, utterance: Utterance) -> None:
        """Once more where the loudspeaker was lost and is back at once."""
        with self._changed:
            if not utterance.repeated:
                self._waiting.add(replace(utterance, repeated=True), first=True)

    def _someone(self) -> bool:
        if not self._waiting:
            return False
        return self.someone_speaks()

    def _keep_loudspeaker(self) -> None:
        """Open it at first, let it rest, and open it again where it was lost."""
        if not self._loudspeaker.lost:
            self._loudspeaker.rest()
            return
        now = time.monotonic()
        if self._open and not self._lost:
            self._lost, self._tries, self._retry_at = True, 0, now
            self._loudspeaker.close()
            self._tell(f"The loudspeaker is lost; {_INSTEAD}.")
        if now < self._retry_at:
            return
        try:
            self._loudspeaker.open(proved=self._lost)
        except LoudspeakerError as error:
            self._retry_at = now + RETRY_S[min(self._tries, len(RETRY_S) - 1)]
            self._tries += 1
            if not self._lost:
                self._lost = True
                self._tell(str(error))
        else:
            if self._lost:
                self._tell("The loudspeaker is back.")
            self._open, self._lost = True, False

    def _tell_failure(self, text: str) -> None:
        if not self._failing:
            self._tell(text)
        self._failing = True

    def _tell(self, text: str) -> None:
        with suppress(Exception):  # a screen that fails must not end the voice
            self._trouble(text)
