"""The screen by itself on a pseudo-terminal: what goes wrong in it does not end the job."""

from __future__ import annotations

import os
import threading

from fieldvoice.devices.screen import Devices, View
from fieldvoice.devices.screen.board import Board
from fieldvoice.devices.screen.live import Hands, LiveScreen
from fieldvoice.devices.screen.moment import Moment

PATIENCE_S = 30.0


class Torn(Board):
    """A board that cannot be read once it is torn."""

    torn = False

    @property
    def moment(self) -> Moment:
        if self.torn:
            raise ValueError("the board is torn")
        return super().moment


def test_a_screen_that_fails_says_so_once_and_leaves_the_terminal() -> None:
    ours, theirs = os.openpty()
    failed, why = threading.Event(), list[str]()
    drained = threading.Thread(target=_drain, args=(ours,), daemon=True)
    drained.start()
    name = os.ttyname(theirs)
    with open(name, encoding="utf-8") as stdin, open(name, "w", encoding="utf-8") as stdout:
        board = Torn()

        def fails(told: str) -> None:
            why.append(told)
            failed.set()

        hands = Hands(lambda _: None, lambda _: None, lambda: None, fails)
        screen = LiveScreen(board, hands, stdin, stdout)
        screen.start()
        board.update(View(title="Evacuate"), Devices())
        screen.changed()
        board.torn = True
        screen.changed()
        assert failed.wait(PATIENCE_S)
        screen.close()
    assert why == ["ValueError: the board is torn"]
    os.close(theirs)


def _drain(ours: int) -> None:
    try:
        while os.read(ours, 65_536):
            pass
    except OSError:
        return
