"""The voice through a real sound server: heard, hushed, lost, and without a leak."""

import os
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from fieldvoice.devices.mouth import Speaker, Voices
from fieldvoice.devices.mouth.loudspeaker import REST_AFTER_S, Loudspeaker
from fieldvoice.devices.recognizer import Recognizer
from fieldvoice.devices.vosk_recognizer import OWN_MODEL, VoskRecognizer
from fieldvoice.language.parser import understand
from support.sound_server import RATE, SoundServer, require_sound_server, sound_server

Sound = NDArray[np.int16]
READING = "four hundred twelve microns"
LONG = "Dry nitrogen only. Never oxygen, never compressed air: with oil they explode."
LOUD = 600  # of 32768: below it the server's loudspeaker is silent here
PATIENCE_S = 30.0


class Bench:
    """A speaker on a server of the test's own."""

    def __init__(self, server: SoundServer) -> None:
        self.server = server
        self.troubles: list[str] = []
        self.speaker = Speaker(self.troubles.append, voices=Voices("espeak"))
        self.sounds_once()

    def sounds_once(self) -> None:
        """The first sound wakes a server's loudspeaker up, which takes a second or two."""
        with self.server.recorded() as room:
            self.speaker.say("Ready.")
            until(lambda: len(loud(room.sound())) > 0)
            self.speaker.wait()
            self.quiet()

    def quiet(self) -> None:
        until(lambda: not self.speaker.speaking())


def until(claim: Callable[[], bool]) -> None:
    end = time.monotonic() + PATIENCE_S
    while not claim():
        assert time.monotonic() < end, "it took too long"
        time.sleep(0.01)


def loud(sound: Sound) -> NDArray[np.intp]:
    return np.flatnonzero(np.abs(sound.astype(int)) > LOUD)


def seconds(sound: Sound) -> float:
    """From the first loud sample to the last one."""
    found = loud(sound)
    return float(found[-1] - found[0]) / RATE if len(found) else 0.0


@pytest.fixture
def bench(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Bench]:
    require_sound_server()
    with sound_server(tmp_path / "sound") as server:
        for name, value in server.environment.items():
            monkeypatch.setenv(name, value)
        bench = Bench(server)
        yield bench
        bench.speaker.hush()
        bench.speaker.close()


@pytest.fixture(scope="module")
def ear() -> Recognizer:
    if not (OWN_MODEL / "am" / "final.mdl").is_file():
        pytest.skip("the speech model is not in this checkout")
    return VoskRecognizer(OWN_MODEL)


def test_what_is_said_sounds_in_the_room_and_is_heard_back(bench: Bench, ear: Recognizer) -> None:
    with bench.server.recorded() as room:
        time.sleep(0.5)
        bench.speaker.say(READING)
        bench.speaker.wait()
        bench.quiet()
        time.sleep(0.5)
        sound = room.sound()
    assert understand(ear.hear(sound).words, typed=False) == understand(READING, typed=False)


def test_the_microphone_is_told_to_be_deaf_while_it_sounds_and_hardly_longer(bench: Bench) -> None:
    began = time.monotonic()
    with bench.server.recorded() as room:
        time.sleep(0.5)
        bench.speaker.say(LONG)
        bench.speaker.wait()
        bench.quiet()
        sounded = seconds(room.sound())
    spans = [s for s in bench.speaker._loudspeaker.sounding._spans if s[1] > began]
    deaf = sum(end - start for start, end in spans)
    assert sounded < deaf < sounded + 1.5
    assert not bench.speaker.sounding_at(time.monotonic())
    assert bench.speaker.sounding_at(spans[0][0] + 0.2)


def test_hush_stops_the_sound_at_once_and_drops_what_waits(bench: Bench) -> None:
    with bench.server.recorded() as room:
        time.sleep(0.5)
        bench.speaker.say(LONG, "caution")
        bench.speaker.say(LONG)
        until(lambda: len(loud(room.sound())) > RATE // 2)
        before = seconds(room.sound())
        bench.speaker.hush()
        time.sleep(1.5)
        sounded = seconds(room.sound())
    assert sounded < before + 2.5  # of some twelve seconds
    assert not bench.speaker.speaking()


def test_cautions_come_before_answers_and_an_alert_breaks_in(bench: Bench) -> None:
    said: list[str] = []
    plain = bench.speaker._voices.say
    bench.speaker._voices.say = (  # type: ignore[method-assign]
        lambda text, pace: (said.append(text), plain(text, pace))[1]
    )
    bench.speaker.say("This is a long answer that takes its time to be said aloud.", "answer")
    until(lambda: bench.speaker.standing == "speaking")
    for tone, text in (("answer", "Answer."), ("caution", "Caution."), ("alert", "Alert.")):
        bench.speaker.new_turn(asked=True)
        bench.speaker.say(text, tone)
    bench.speaker.wait()
    first = "This is a long answer that takes its time to be said aloud."
    assert said == [first, "Alert.", "Caution.", first, "Answer."]


def test_a_hundred_replies_and_fifty_openings_leave_no_connection_and_no_file(
    bench: Bench,
) -> None:
    for _ in range(5):
        bench.speaker.change("faster")
    connections, files = bench.server.connections(), len(os.listdir("/proc/self/fd"))
    for number in range(100):
        bench.speaker.say("Yes." if number % 2 else "No.")
        bench.speaker.wait()
    other = Loudspeaker()
    for _ in range(50):
        other.open()
    other.close()
    bench.quiet()
    until(lambda: bench.server.connections() == connections)
    assert len(os.listdir("/proc/self/fd")) <= files + 1


def test_after_a_rest_the_same_device_sounds_again(bench: Bench) -> None:
    connections = bench.server.connections()
    device = bench.speaker._loudspeaker._device
    until(lambda: not device.running)
    with bench.server.recorded() as room:
        time.sleep(0.5)
        bench.speaker.say("Next.")
        bench.speaker.wait()
        bench.quiet()
        assert seconds(room.sound()) > 0.2
    assert bench.speaker._loudspeaker._device is device
    assert bench.server.connections() == connections
    assert REST_AFTER_S < PATIENCE_S


def test_a_loudspeaker_that_goes_while_it_speaks_is_noticed_and_taken_again(
    bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("fieldvoice.devices.mouth.speaker.RETRY_S", (0.5,))
    bench.server.control("unload-module", "module-remap-source")
    bench.speaker.say(LONG, "caution")
    until(lambda: bench.speaker.standing == "speaking")
    bench.server.control("unload-module", "module-null-sink")  # all loudspeakers
    gone = time.monotonic()
    until(lambda: bench.speaker.standing == "lost")
    assert time.monotonic() - gone < 10
    bench.speaker.say("Not said.")
    bench.speaker.wait()
    bench.server.control("load-module", "module-null-sink", "sink_name=room", "rate=48000")
    until(lambda: bench.speaker.standing != "lost")
    assert bench.troubles == [
        "The loudspeaker is lost; replies are on the screen only.", "The loudspeaker is back.",
    ]  # fmt: skip
    with bench.server.recorded() as room:
        bench.speaker.say("Next.")
        until(lambda: seconds(room.sound()) > 0.2)
