"""What is on the screen now: kept together from any thread, read by whoever draws it."""

from __future__ import annotations

import threading
from dataclasses import replace

from fieldvoice.devices.screen.moment import Moment
from fieldvoice.devices.screen.view import Devices, Said, View

NOTICES_KEPT, TALK_KEPT = 2, 400


class Board:
    """The newest view, and what is of this session alone: talk and notices."""

    def __init__(self, *, plain: bool = False) -> None:
        self._moment = Moment(plain=plain)
        self._lock = threading.Lock()

    @property
    def moment(self) -> Moment:
        """What is to be drawn."""
        return self._moment

    def say(self, said: Said) -> None:
        """A line came in, or was answered; the talk is turned to its end."""
        with self._lock:
            self._moment = replace(self._moment, talk=(*self._moment.talk, said)[-TALK_KEPT:])

    def notice(self, text: str) -> None:
        """What the user must know about the devices or the log; told again it is the newest."""
        with self._lock:
            others = tuple(n for n in self._moment.notices if n != text)
            self._moment = replace(self._moment, notices=(*others, text)[-NOTICES_KEPT:])

    def update(self, view: View, devices: Devices) -> bool:
        """The job as it is now; returns whether anything changed."""
        with self._lock:
            same = self._moment.view == view and self._moment.devices == devices
            self._moment = replace(self._moment, view=view, devices=devices)
            return not same

    def turn(self, back: int) -> None:
        """Turn the talk back by that many pages."""
        with self._lock:
            self._moment = replace(self._moment, back=max(back, 0))
