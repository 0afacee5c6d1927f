"""The first recognizer is loaded beside other work; each one after a failure is a fresh one."""

import threading

import pytest

from fieldvoice.commands.wiring.hearing.ready_ear import ReadyEar
from fieldvoice.devices.recognizer import ModelError, Recognizer
from support.fake_recognizer import FakeRecognizer


def test_the_first_is_loaded_before_it_is_asked_for_and_is_given_once() -> None:
    loaded, done = list[Recognizer](), threading.Event()

    def load() -> Recognizer:
        loaded.append(FakeRecognizer())
        done.set()
        return loaded[-1]

    ear = ReadyEar(load)
    assert done.wait(5)
    assert ear() is loaded[0]
    assert ear() is loaded[1]
    assert len(loaded) == 2


def test_what_kept_it_from_loading_is_told_to_whoever_asks() -> None:
    def load() -> Recognizer:
        raise ModelError("no speech model")

    with pytest.raises(ModelError, match="no speech model"):
        ReadyEar(load)()
