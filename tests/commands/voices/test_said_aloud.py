"""A line said aloud by the loudspeaker, and Ctrl-C in the middle of it."""

import numpy as np
import pytest

from fieldvoice.commands.checks import sound
from fieldvoice.devices import mouth


class Interrupted:
    """A loudspeaker during whose opening Ctrl-C is pressed."""

    closed = False

    def open(self, *, proved: bool = False) -> None:
        raise KeyboardInterrupt

    def close(self) -> None:
        Interrupted.closed = True


def test_a_device_that_was_being_opened_is_given_back(monkeypatch: pytest.MonkeyPatch) -> None:
    # one that is left open keeps the program from ending: its thread waits for the interpreter
    monkeypatch.setattr(mouth, "Loudspeaker", Interrupted)
    with pytest.raises(KeyboardInterrupt):
        sound.play(np.zeros(240, np.int16))
    assert Interrupted.closed
