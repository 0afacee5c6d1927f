"""Both voices, made equally loud and without silent ends; one that hangs is left behind."""

import threading

import numpy as np
import pytest
from numpy.typing import NDArray

from fieldvoice.devices.mouth import RATES, VoiceError, Voices, pico
from fieldvoice.devices.mouth.level import SPEECH_DB, amplified, levelled, trimmed
from fieldvoice.devices.mouth.loudspeaker import RATE
from fieldvoice.devices.mouth.pieces import LONGEST, pieces
from fieldvoice.devices.mouth.tones import KINDS, tone
from fieldvoice.devices.mouth.voices import VOICES

LINE = "Logged four hundred twelve microns."
Sound = NDArray[np.int16]


def alone(name: str) -> Voices:
    """A voice with no other one to help out."""
    return Voices(voices={name: VOICES[name]})


@pytest.mark.parametrize("name", VOICES)
def test_a_voice_speaks_without_silence_at_the_ends(name: str) -> None:
    sound = alone(name).say(LINE, 150)
    heard = np.flatnonzero(np.abs(sound.astype(int)) > 400)
    assert heard[0] / RATE < 0.06
    assert (len(sound) - heard[-1]) / RATE < 0.06
    assert 1.5 < len(sound) / RATE < 3.5


@pytest.mark.parametrize("name", VOICES)
@pytest.mark.parametrize("text", [LINE, "Next.", "Over the plate. Let it down now."])
def test_every_reply_is_equally_loud_in_either_voice(name: str, text: str) -> None:
    sound = alone(name).say(text, 150).astype(float) / 32768
    frames = (sound[: len(sound) // 480 * 480].reshape(-1, 480) ** 2).mean(axis=1)
    speech = frames[frames > frames.max() / 1000]
    assert 10 * np.log10(speech.mean()) == pytest.approx(SPEECH_DB, abs=2.0)


@pytest.mark.parametrize("name", VOICES)
def test_a_pace_is_kept_each_time(name: str) -> None:
    voice = alone(name)
    length = {pace: len(voice.say(LINE, pace)) for pace in RATES}
    assert sorted(length.values(), reverse=True) == list(length.values())
    for turn in range(60):
        pace = RATES[(5 * turn + turn // 7) % len(RATES)]
        assert len(voice.say(LINE, pace)) == pytest.approx(length[pace], rel=0.03)


@pytest.mark.parametrize("name", VOICES)
@pytest.mark.parametrize(
    "text", ["<speed level='500'>x", "a < b & c", "\0next", "\x1b[31mred", "Zürich 漢字", "x" * 300]
)
def test_no_text_breaks_a_voice(name: str, text: str) -> None:
    assert len(alone(name).say(text, 150)) > 0


def test_marks_in_a_text_do_not_change_how_pico_speaks() -> None:
    marks = ("", '<speed level="300">')
    plain, marked = (len(alone("pico").say(f"{mark} {LINE}", 150)) for mark in marks)
    assert marked >= plain


def test_a_voice_of_another_name_is_refused() -> None:
    with pytest.raises(VoiceError, match=r"squeaky.*espeak, pico"):
        Voices("squeaky")


def test_the_next_voice_speaks_where_the_wanted_one_is_not_installed() -> None:
    def missing(text: str, pace: int) -> tuple[Sound, int]:
        raise VoiceError("not installed")

    voices = Voices("one", {"two": VOICES["espeak"], "one": missing})
    assert len(voices.say("Next.", 150)) > 0


def test_a_voice_that_hangs_is_given_up_and_not_asked_again() -> None:
    asked: list[str] = []
    never = threading.Event()

    def hangs(text: str, pace: int) -> tuple[Sound, int]:
        asked.append(text)
        never.wait()
        raise AssertionError

    voices = Voices(voices={"one": hangs, "two": VOICES["espeak"]}, given_up_s=0.2)
    assert len(voices.say("Next.", 150)) > 0
    assert len(voices.say("Back.", 150)) > 0
    assert asked == ["Next."]
    never.set()


def test_long_texts_are_cut_where_a_speaker_breathes() -> None:
    text = "Dry nitrogen only. Never oxygen, never compressed air: with oil they explode. "
    assert pieces(text) == [
        "Dry nitrogen only.", "Never oxygen, never compressed air:", "with oil they explode.",
    ]  # fmt: skip
    assert pieces("  \n ... \n") == []
    assert max(map(len, pieces("word " * 500))) <= LONGEST
    assert " ".join(pieces("word " * 500)).split() == ["word"] * 500
    assert pieces("29.92 inches at 10:00.") == ["29.92 inches at 10:00."]


def test_silence_alone_is_nothing() -> None:
    silence = np.zeros(4_000, np.int16)
    assert len(trimmed(silence, RATE)) == 0
    assert not levelled(silence, RATE).any()


def test_loud_samples_are_rounded_off_and_not_wrapped() -> None:
    loud = amplified(np.array([30_000, -30_000], dtype=np.int16), 12.0)
    assert loud[0] > 30_000
    assert loud[1] < -30_000


def test_tones_are_short_and_told_apart_by_pitch() -> None:
    loudest = {}
    for kind in KINDS:
        sound = tone(kind).astype(float)
        assert len(sound) / RATE < 0.3
        strength = np.abs(np.fft.rfft(sound))
        loudest[kind] = np.argmax(strength) * RATE / len(sound)
    assert loudest["heard"] > 1_200
    assert 900 < loudest["asked-back"] < 1_050
    assert loudest["not-taken"] < 450


def test_pico_says_the_same_each_time_and_goes_on_when_its_process_ends() -> None:
    first = VOICES["pico"](LINE, 110)[0]
    for _ in range(20):
        np.testing.assert_array_equal(VOICES["pico"](LINE, 110)[0], first)
    assert pico._child is not None
    pico._child.kill()
    with pytest.raises(VoiceError):
        VOICES["pico"](LINE, 110)
    np.testing.assert_array_equal(VOICES["pico"](LINE, 110)[0], first)
