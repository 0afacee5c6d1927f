"""The speaker: real synthesis, a loudspeaker that keeps what it is given."""

import threading
import time
from collections.abc import Callable

import numpy as np
import pytest
from numpy.typing import NDArray

from fieldvoice.devices.mouth import LoudspeakerError, Speaker, VoiceError, Voices, speaker
from fieldvoice.devices.mouth.loudspeaker import RATE
from fieldvoice.devices.mouth.sounding import Sounding
from fieldvoice.devices.mouth.tones import tone

LINE = "Logged four hundred twelve microns."
Sound = NDArray[np.int16]


class Played:
    """A loudspeaker that takes sound as fast as it is let to."""

    def __init__(self) -> None:
        self.sounding = Sounding()
        self.sounds: list[Sound] = []
        self.works = self.there = True
        self.flows = threading.Event()
        self.flows.set()
        self.awake = threading.Event()  # unset: the device hangs where it is started
        self.awake.set()
        self.hushed = self.opened = 0

    @property
    def lost(self) -> bool:
        return not self.there or not self.opened

    def open(self, *, proved: bool = False) -> None:
        if not self.works:
            raise LoudspeakerError("no loudspeaker")
        self.there, self.opened = True, self.opened + 1

    def play(self, sound: Sound) -> None:
        if not self.there:
            raise LoudspeakerError("gone")
        self.sounds.append(sound)

    def left_s(self) -> float:
        return 0.0 if self.flows.is_set() else 0.02

    def hush(self) -> None:
        self.hushed += 1

    def rest(self) -> None: ...

    def rouse(self) -> None:
        self.awake.wait(20)

    def close(self) -> None:
        self.there = False


class Bench:
    """A speaker with a kept loudspeaker; texts are their own sound, unless a voice is given."""

    def __init__(self, voices: Voices | None = None, someone: Callable[[], bool] | None = None):
        self.said: list[str] = []
        self.troubles: list[str] = []
        self.played = Played()
        self.speaker = Speaker(
            self.troubles.append, someone or (lambda: False),
            voices or Voices(voices={"kept": self._keep}),
            self.played,  # type: ignore[arg-type]
        )  # fmt: skip

    def _keep(self, text: str, words_a_minute: int) -> tuple[Sound, int]:
        self.said.append(text)
        return np.full(RATE // 10, 9_000, np.int16), RATE

    def say(self, *turns: tuple[bool, str, str]) -> None:
        """Turns of (asked, tone, text), each while the first is still being said."""
        for asked, tone_, text in turns:
            self.speaker.new_turn(asked=asked)
            self.speaker.say(text, tone_)

    def held(self) -> "Bench":
        """Saying something that does not end before `go`."""
        self.played.flows.clear()
        self.speaker.say("First.", "prompt")
        until(lambda: self.said == ["First."])
        return self

    def go(self) -> list[str]:
        self.played.flows.set()
        self.speaker.wait()
        return self.said


def until(claim: Callable[[], bool]) -> None:
    end = time.monotonic() + 20
    while not claim():
        assert time.monotonic() < end
        time.sleep(0.005)


def real(*deeds: str) -> list[Sound]:
    """What sounds when a real voice is told each deed: a change of voice, or a text to say."""
    bench = Bench(Voices("espeak"))
    for deed in deeds:
        if deed.islower():
            bench.speaker.change(deed)
        else:
            bench.speaker.say(deed)
            bench.speaker.wait()
    bench.speaker.close()
    assert bench.troubles == []
    return bench.played.sounds


def test_texts_are_said_whole_and_in_order() -> None:
    short, long = real("Next.", LINE)
    assert 0.2 < len(short) / RATE < 1.2
    assert len(long) > 2 * len(short)


def test_slower_takes_longer_and_faster_less() -> None:
    usual, slow, fast = real(LINE, "slower", LINE, "faster", "faster", LINE)
    assert len(fast) < len(usual) < len(slow)


def test_a_key_stops_the_opening_in_the_midst_and_a_spoken_line_lets_its_caution_end() -> None:
    ways = ((True, "caution", 1), (False, "caution", 0), (False, "prompt", 1))
    for by_key, tone_, stopped in ways:
        bench = Bench()
        bench.played.flows.clear()
        bench.speaker.new_turn(asked=False, opening=True)
        bench.speaker.say("Code comes first.", tone_)
        bench.speaker.say("Make safe.", "prompt")
        until(lambda bench=bench: bench.said == ["Code comes first."])
        bench.speaker.end_opening(by_key=by_key)
        assert bench.played.hushed == stopped
        bench.speaker.new_turn(asked=True)
        bench.speaker.say("Answer.")
        assert bench.go() == ["Code comes first.", "Answer."]
        bench.speaker.close()


def test_between_the_parts_of_the_opening_someone_may_begin_to_speak() -> None:
    bench = Bench()
    begins = threading.Event()
    begins.set()
    bench.speaker.opening.begins = begins.is_set
    bench.speaker.new_turn(asked=False, opening=True)
    bench.speaker.say("Code comes first.", "caution")
    bench.speaker.say("Make safe.", "prompt")
    bench.speaker._loudspeaker.sounding.note(time.monotonic(), time.monotonic() + 0.1)
    until(lambda: bench.said == ["Code comes first."])
    time.sleep(1.5)
    assert bench.said == ["Code comes first."]
    begins.clear()
    assert bench.go() == ["Code comes first.", "Make safe."]
    bench.speaker.close()


def test_louder_and_softer_change_the_power() -> None:
    usual, loud, soft = real(LINE, "louder", LINE, "softer", "softer", LINE)
    power = [float(np.mean(x.astype(float) ** 2)) for x in (soft, usual, loud)]
    assert power[0] < 0.5 * power[1]
    assert power[2] > 1.5 * power[1]


def test_the_ends_of_the_scale_hold() -> None:
    assert len(real(*["louder"] * 20, *["faster"] * 20, LINE)) == 1


def test_quiet_says_nothing_until_aloud() -> None:
    assert len(real("quiet", LINE, LINE, "aloud", LINE)) == 1


def test_an_unknown_change_is_refused() -> None:
    with pytest.raises(ValueError, match="squeaky"):
        Bench().speaker.change("squeaky")


def test_a_caution_comes_before_answers_and_answers_before_what_nobody_asked_for() -> None:
    bench = Bench().held()
    bench.say(
        (False, "answer", "Reminder."), (True, "answer", "Answer one."),
        (True, "answer", "Answer two."), (True, "caution", "Caution."),
    )  # fmt: skip
    assert bench.go() == ["First.", "Caution.", "Answer one.", "Answer two.", "Reminder."]


def test_within_a_turn_the_answer_stays_before_the_prompt_and_all_prompts_are_said() -> None:
    bench = Bench().held()
    bench.speaker.new_turn(asked=True)
    for tone_, text in (("answer", "Logged."), ("prompt", "One."), ("prompt", "Two.")):
        bench.speaker.say(text, tone_)
    assert bench.go() == ["First.", "Logged.", "One.", "Two."]


def test_a_prompt_that_has_not_begun_gives_way_to_a_newer_one_and_answers_do_not() -> None:
    bench = Bench().held()
    bench.say((True, "prompt", "Old."), (True, "answer", "Kept."), (True, "prompt", "New."))
    assert bench.go() == ["First.", "Kept.", "New."]


def test_an_alert_breaks_in_and_what_it_broke_is_said_again() -> None:
    bench = Bench().held()
    bench.say((True, "alert", "Over the plate."))
    until(lambda: "Over the plate." in bench.said)
    assert bench.go() == ["First.", "Over the plate.", "First."]
    assert bench.played.hushed == 1


@pytest.mark.parametrize("tone_", ["caution", "alert"])
def test_an_alert_does_not_break_into_a_caution_or_another_alert(tone_: str) -> None:
    bench = Bench()
    bench.played.flows.clear()
    bench.speaker.say("First.", tone_)
    until(lambda: bench.said == ["First."])
    bench.say((True, "alert", "Timer."))
    assert bench.go() == ["First.", "Timer."]
    assert bench.played.hushed == 0


def test_hush_drops_what_waits_and_the_next_reply_is_said() -> None:
    bench = Bench().held()
    bench.say((True, "answer", "Dropped."), (True, "caution", "Dropped too."))
    bench.speaker.hush()
    bench.speaker.say("Said.")
    assert bench.go() == ["First.", "Said."]


def test_what_nobody_asked_for_waits_while_someone_speaks_and_what_protects_does_not() -> None:
    someone = threading.Event()
    someone.set()
    bench = Bench(someone=someone.is_set)
    bench.say((False, "alert", "Timer."), (False, "prompt", "Prompt."), (False, "caution", "Care."),
              (True, "alert", "Over the plate."))  # fmt: skip
    until(lambda: bench.said == ["Over the plate.", "Care."] or len(bench.said) > 2)
    time.sleep(0.2)
    assert bench.said == ["Over the plate.", "Care."]
    someone.clear()
    assert bench.go() == ["Over the plate.", "Care.", "Timer.", "Prompt."]


def test_without_a_loudspeaker_it_is_told_once_and_told_when_it_is_back(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr("fieldvoice.devices.mouth.speaker.RETRY_S", (0.05,))
    bench = Bench()
    until(lambda: bench.played.opened == 1)
    bench.played.works = bench.played.there = False
    bench.speaker.say("Lost.")
    until(lambda: bool(bench.troubles))
    bench.speaker.wait()
    assert bench.speaker.standing == "lost"
    bench.speaker.say("Not said.")
    bench.speaker.wait()
    bench.played.works = True
    until(lambda: bench.speaker.standing == "silent")
    assert bench.troubles == [
        "The loudspeaker is lost; replies are on the screen only.", "The loudspeaker is back.",
    ]  # fmt: skip
    bench.speaker.say("Said.")
    bench.speaker.wait()
    assert bench.said[-1] == "Said."


def test_a_voice_that_fails_is_told_once_and_again_only_after_it_worked() -> None:
    works = iter([False, False, True, False])

    def voice(text: str, pace: int) -> tuple[Sound, int]:
        if not next(works):
            raise VoiceError("no voice")
        return np.full(RATE // 10, 9_000, np.int16), RATE

    bench = Bench(Voices(voices={"one": voice}))
    for expected in (1, 1, 1, 2):
        bench.speaker.say("Next.")
        bench.speaker.wait()
        until(lambda: len(bench.troubles) == expected)  # noqa: B023


def test_whatever_a_voice_does_the_next_reply_is_said() -> None:
    faults = iter([RuntimeError("boom"), ZeroDivisionError(), KeyError("partial"), None])

    def voice(text: str, pace: int) -> tuple[Sound, int]:
        fault = next(faults)
        if fault:
            raise fault
        return np.full(RATE // 10, 9_000, np.int16), RATE

    bench = Bench(Voices(voices={"one": voice}))
    for _ in range(4):
        bench.speaker.say("Next.")
        bench.speaker.wait()
    assert len(bench.played.sounds) == 1


def test_a_fault_anywhere_in_its_thread_does_not_end_the_voice() -> None:
    faults = [RuntimeError("the ears are gone")]

    def someone() -> bool:
        if faults:
            raise faults.pop()
        return False

    bench = Bench(someone=someone)
    bench.speaker.say("Said.")
    until(lambda: bench.said == ["Said."])
    assert len(bench.troubles) == 1


def test_the_thread_shows_that_it_lives() -> None:
    bench = Bench()
    seen = bench.speaker.last_alive
    until(lambda: bench.speaker.last_alive > seen)


def test_a_tone_sounds_where_no_words_tell_it_and_not_beside_a_reply() -> None:
    bench = Bench().held()
    bench.speaker.signal("heard")
    bench.go()
    assert len(bench.played.sounds) == 1
    bench.speaker.change("quiet")
    bench.speaker.say("Not said.")
    bench.speaker.signal("not-taken")
    bench.speaker.wait()
    assert np.array_equal(bench.played.sounds[-1], tone("not-taken"))
    assert len(bench.played.sounds) == 2


def test_tones_sound_where_there_is_no_voice() -> None:
    bench = Bench(Voices(voices={}))
    bench.speaker.say("Next.")
    bench.speaker.wait()
    until(lambda: bench.speaker.standing == "lost")
    bench.speaker.signal("heard")
    bench.speaker.wait()
    assert np.array_equal(bench.played.sounds[-1], tone("heard"))
    assert len(bench.troubles) == 1


def test_a_device_that_hangs_is_known_and_holds_up_nobody_else(
    monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(speaker, "HANGS_S", 0.2)
    bench = Bench()
    bench.played.awake.clear()
    bench.speaker.say("One.")
    until(lambda: bench.speaker.stuck)
    began = time.monotonic()
    bench.speaker.say("Two.")
    bench.speaker.signal("heard")
    bench.speaker.hush()
    bench.speaker.say("Three.")
    assert bench.speaker.standing == "lost"
    assert time.monotonic() - began < 10
    bench.played.awake.set()
    bench.speaker.wait()
    assert bench.said == ["One.", "Three."]
    assert not bench.speaker.stuck
    assert bench.speaker.standing == "silent"


def test_who_has_nothing_to_say_is_not_stuck(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(speaker, "HANGS_S", -1.0)
    assert not Bench().speaker.stuck
