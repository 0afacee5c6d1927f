"""Sound from a microphone for a whole session: one stream, looked after by a thread of its own."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Protocol

from fieldvoice.devices.ears.block import Block, Sound
from fieldvoice.devices.ears.found import Found, choose
from fieldvoice.devices.ears.level import Meter
from fieldvoice.devices.ears.played import (
    Beat,
    ReadFile,
    is_pipe,
    is_played,
    play_pipe,
    play_sound,
)
from fieldvoice.devices.ears.waiting_sound import Skipped, WaitingSound
from fieldvoice.errors import FieldvoiceError

CHECK_S = 0.25
LOST_AFTER_S = 1.0  # without any sound, not even silence: the device is gone
FIRST_SOUND_S = 3.0  # a device that is just opened may take so long to begin
RETRY_S = 2.0
_CLOSING_S = 1.0  # a hung sound server must not hold us up

LOST = "The microphone is lost. Plug it in again, or type."
NONE = "No microphone found. Plug one in, or type."
BACK = "The microphone is back."


class Opened(Protocol):
    """A device that captures."""

    def close(self) -> None:
        """Stop."""


class System(Protocol):
    """What the computer offers to hear with."""

    def found(self) -> list[Found]:
        """All devices that capture."""
        ...

    def open(self, device: Found, heard: Callable[[Block], None]) -> Opened:
        """Capture. Raises a FieldvoiceError."""
        ...


class SoundSystem:
    """The computer's own; the library is loaded when it is asked."""

    def found(self) -> list[Found]:
        """All devices that capture."""
        from fieldvoice.devices.ears.capture import microphones

        return microphones()

    def open(self, device: Found, heard: Callable[[Block], None]) -> Opened:
        """Capture. Raises MicrophoneError."""
        from fieldvoice.devices.ears.capture import Capture

        return Capture(device, heard)


class Microphone:
    """The microphone of a session. `keep` opens it and opens it again whenever it was lost.

    `trouble` is told when there is none, when it is lost and when it is back.
    `wanted`: part of a device's name; or a file, a pipe or "-", played in real time.
    `read`: gives the sound of a file.
    """

    def __init__(
        self, trouble: Callable[[str], None], wanted: str | None = None,
        read: ReadFile | None = None, system: System | None = None,
    ) -> None:
        self._trouble, self._wanted = trouble, wanted
        self._system = system or SoundSystem()
        self._sound = WaitingSound()
        self._closed = threading.Event()
        self._last = time.monotonic()  # when the last sound came
        self._opened = self._last  # when a device was opened last
        self._told_lost = False
        self._name = ""
        self._openings = 0
        self._recording: Sound | None = None
        self.played = wanted is not None and is_played(wanted)
        self.ended = False
        self.meter = Meter()
        if self.played and wanted is not None and read is not None and not is_pipe(wanted):
            self._recording = read(Path(wanted))

    @property
    def lost(self) -> bool:
        """Whether nothing is captured now."""
        quiet_s = time.monotonic() - self._last
        silent = self._told_lost or quiet_s > LOST_AFTER_S + 2 * CHECK_S
        return silent and not self.played

    @property
    def missed_s(self) -> float:
        """Seconds of sound that came faster than they were heard, since the start."""
        return self._sound.lost_s

    @property
    def skipped(self) -> Skipped | None:
        """What was missed when hearing was behind the last time."""
        return self._sound.skipped

    @property
    def caught_up(self) -> bool:
        """Whether hearing is not behind now."""
        return self._sound.caught_up

    def block(self, timeout: float) -> Block | None:
        """The next sound; None when none comes in `timeout` seconds."""
        return self._sound.get(timeout)

    def keep(self, beat: Beat) -> None:
        """Capture until close(), or until `beat` says that another thread does so now."""
        if self.played:
            self._play(beat)
            return
        while self._goes_on(beat):
            chosen = self._chosen()
            device = self._open(chosen) if chosen else None
            if device is not None and chosen is not None:
                try:
                    self._wait_for_loss(chosen.name, beat)
                finally:
                    _let_go(device)
            self._pause(RETRY_S, beat)

    def close(self) -> None:
        """Stop listening; `keep` returns."""
        self._closed.set()

    def _goes_on(self, beat: Beat) -> bool:
        return beat() and not self._closed.is_set()

    def _pause(self, seconds: float, beat: Beat) -> None:
        until = time.monotonic() + seconds
        while self._goes_on(beat) and (left := until - time.monotonic()) > 0:
            self._closed.wait(min(left, CHECK_S))

    def _chosen(self) -> Found | None:
        found = self._system.found()
        chosen = choose(found, self._wanted)
        if chosen is None:
            self._tell_lost(_none(found, self._wanted))
        return chosen

    def _open(self, chosen: Found) -> Opened | None:
        self._opened = time.monotonic()
        self._openings += 1
        number, first = self._openings, True

        def heard(block: Block) -> None:
            nonlocal first
            if number == self._openings:  # else from a device that was given up
                self._take(replace(block, after_gap=block.after_gap or first))
                first = False

        try:
            return self._system.open(chosen, heard)
        except FieldvoiceError as error:
            self._tell_lost(f"{error}. Type, or use another one.")
            return None

    def _take(self, block: Block) -> None:
        self._last = time.monotonic()
        self.meter.add(block)
        self._sound.put(block)

    def _wait_for_loss(self, name: str, beat: Beat) -> None:
        """Return when the device has given nothing for too long."""
        while self._goes_on(beat):
            due = time.monotonic() + CHECK_S
            self._closed.wait(CHECK_S)
            now = time.monotonic()
            if now - due > LOST_AFTER_S / 2:  # it was us who slept, and not the device
                self._opened = now
            began = self._last > self._opened
            if began:
                self._sounds(name)
            if now - max(self._last, self._opened) > (LOST_AFTER_S if began else FIRST_SOUND_S):
                self._tell_lost(LOST)
                return

    def _sounds(self, name: str) -> None:
        if self._told_lost:
            other = self._name != name
            self._trouble(f"I hear with {name} now." if other else BACK)
        self._told_lost, self._name = False, name

    def _tell_lost(self, text: str) -> None:
        if not self._told_lost and not self._closed.is_set():
            self._told_lost = True
            self._trouble(text)

    def _play(self, beat: Beat) -> None:
        def goes_on() -> bool:
            return self._goes_on(beat)

        if self._recording is not None:
            play_sound(self._recording, self._take, goes_on)
        elif self._wanted is not None:
            play_pipe(self._wanted, self._take, goes_on)
        if goes_on():
            self.ended = True


def _let_go(device: Opened) -> None:
    closing = threading.Thread(target=device.close, name="closing", daemon=True)
    closing.start()
    closing.join(_CLOSING_S)


def _none(found: Sequence[Found], wanted: str | None) -> str:
    if wanted is None:
        return NONE
    names = ", ".join(device.name for device in found if not device.monitor)
    there = f"There is: {names}." if names else "There is none."
    return f"No microphone called {wanted}. {there} Plug it in, or type."
