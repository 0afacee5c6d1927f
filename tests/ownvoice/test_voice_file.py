import hashlib
import json
from dataclasses import replace

import numpy as np
import pytest

from fieldvoice.ownvoice.adapted_model import with_voice
from fieldvoice.ownvoice.errors import VoiceError
from fieldvoice.ownvoice.network import identity
from fieldvoice.ownvoice.voice_file import FORMAT, Figures, Voice, from_bytes, model_hash, to_bytes

BEFORE, AFTER = Figures(30, 21, 24, 14), Figures(30, 25, 28, 20)


@pytest.fixture
def voice(small) -> Voice:
    rng = np.random.default_rng(1)
    numbers = {name: rng.standard_normal(v.shape).astype(np.float32)
               for name, v in identity(small).items()}
    return Voice("dana", "0" * 64, "2026-03-02T14:14:05+00:00", 60, 141.5, BEFORE, AFTER, numbers)


def test_a_voice_is_read_as_it_was_written(voice):
    again = from_bytes(to_bytes(voice), "here")
    assert replace(again, adaptation={}) == replace(voice, adaptation={})
    assert again.adaptation.keys() == voice.adaptation.keys()
    for name, numbers in voice.adaptation.items():
        assert np.array_equal(again.adaptation[name], numbers)


@pytest.mark.parametrize("at", [len(FORMAT) + 3, 400, 2000, -1])
def test_one_wrong_byte_is_noticed(voice, at):
    data = bytearray(to_bytes(voice))
    data[at] ^= 1
    with pytest.raises(VoiceError, match="here is damaged: its checksum is wrong"):
        from_bytes(bytes(data), "here")


@pytest.mark.parametrize("data", [b"", b"RIFF....WAVE", FORMAT[:5]])
def test_other_files_are_no_voices(data):
    with pytest.raises(VoiceError, match="here is not a voice"):
        from_bytes(data, "here")


def test_a_voice_of_another_version_says_so():
    with pytest.raises(VoiceError, match="another version"):
        from_bytes(b"fieldvoice voice 2\n{}", "here")


def signed(head: dict, body: bytes) -> bytes:
    data = FORMAT + json.dumps(head).encode() + b"\n" + body
    return data + hashlib.sha256(data).hexdigest().encode()


@pytest.mark.parametrize(("change", "body"), [
    ({"numbers": {"input.turn": [40, 40]}}, b"1234"),  # fewer than it says
    ({"numbers": {"input.turn": [1]}}, b"\0\0\xc0\x7f"),  # not a number
    ({"numbers": 3}, b""),
    ({"before": {"lines": 1}}, b""),
    ({"more": 1}, b""),
])
def test_what_is_signed_but_makes_no_sense_is_refused(voice, change, body):
    head = json.loads(to_bytes(voice)[len(FORMAT) :].split(b"\n")[0])
    with pytest.raises(VoiceError, match="cannot be read"):
        from_bytes(signed({**head, "numbers": {}, **change}, body), "here")


def test_a_voice_is_used_with_the_model_that_it_was_learned_with_alone(voice):
    assert model_hash(b"another model") != voice.model
    with pytest.raises(VoiceError, match="learned with another speech model; learn it again"):
        with_voice(b"another model", voice)


def test_a_file_of_before_confidence_followed_the_speaker_is_still_read(voice):
    written = to_bytes(replace(voice, sureness=0.25))
    assert from_bytes(written, "here").sureness == 0.25
    head, _, body = written[len(FORMAT):-64].partition(b"\n")
    told = json.loads(head)
    del told["sureness"], told["before"]["belief"], told["after"]["belief"]
    data = FORMAT + json.dumps(told).encode() + b"\n" + body
    old = from_bytes(data + hashlib.sha256(data).hexdigest().encode(), "here")
    assert (old.sureness, old.before, old.after) == (0.0, BEFORE, AFTER)
