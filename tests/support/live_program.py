"""The real program at work, as a user runs it: on a terminal of its own, with typed lines."""

from __future__ import annotations

import json
import os
import pty
import select
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from support import sounds
from support.sound_server import SoundServer, sound_server

NEXT = sounds.line("bakery-unit-two/next-1")

PATIENCE_S = 60.0  # for what comes within a second or two on a computer that has nothing else to do


class LiveProgram:
    """`fieldvoice work` on a terminal; use `live_program`."""

    def __init__(
        self, folder: Path, environment: Mapping[str, str], procedure: str,
        options: tuple[str, ...], terminal: str = "dumb",
    ) -> None:
        self.folder = folder / "data" / "fieldvoice" / "jobs" / "live"
        self._output: list[tuple[float, bytes]] = []  # with time.monotonic()
        self._terminal, inside = pty.openpty()
        self.process = subprocess.Popen(
            [sys.executable, "-m", "fieldvoice", "work", procedure, "--job", "live", *options],
            stdin=inside, stdout=inside, stderr=inside, start_new_session=True, cwd=folder,
            env={**os.environ, "TERM": terminal, "XDG_DATA_HOME": str(folder / "data"),
                 **environment},
        )  # fmt: skip
        os.close(inside)
        self._reader = threading.Thread(target=self._read, name="terminal", daemon=True)
        self._reader.start()

    @property
    def output(self) -> str:
        """All that was written so far."""
        return b"".join(data for _, data in list(self._output)).decode("utf-8", "replace")

    def type(self, line: str) -> None:
        """Type a line."""
        os.write(self._terminal, line.encode() + b"\r")

    def press(self, keys: bytes) -> None:
        """Press a key: what a terminal sends for it."""
        os.write(self._terminal, keys)

    def log(self) -> list[dict[str, Any]]:
        """The events logged so far, as in log.jsonl."""
        path = self.folder / "log.jsonl"
        lines = path.read_text("utf-8").split("\n")[:-1] if path.exists() else []
        return [json.loads(line) for line in lines]

    def events(self, kind: str) -> list[dict[str, Any]]:
        """The data of the events of a kind, such as "line-heard" or "said"."""
        return [entry["data"] for entry in self.log() if entry["kind"] == kind]

    def heard(self) -> list[str]:
        """The words of all lines that came by voice."""
        return [e["words"] for e in self.events("line-heard") if e["source"] == "voice"]

    def wait(self, for_what: Callable[[], object], timeout: float = PATIENCE_S) -> float:
        """Wait until something holds; returns how many seconds that took."""
        began = time.monotonic()
        while not for_what():
            waited = time.monotonic() - began
            assert waited < timeout, f"not within {timeout:g} s. Screen:\n{self.output[-2_000:]}"
            if self.process.poll() is not None:
                self._reader.join(PATIENCE_S)  # the last that it wrote may come just now
                assert for_what(), f"it ended:\n{self.output[-2_000:]}"
            time.sleep(0.02)
        return time.monotonic() - began

    def wait_for(self, text: str, times: int = 1, timeout: float = PATIENCE_S) -> float:
        """Wait until the terminal shows a text so often."""
        return self.wait(lambda: self.output.count(text) >= times, timeout)

    def wait_heard(self, count: int, timeout: float = PATIENCE_S) -> list[str]:
        """Wait until so many lines were heard; all of them."""
        self.wait(lambda: len(self.heard()) >= count, timeout)
        return self.heard()

    def threads(self) -> int:
        """How many it has."""
        return len(os.listdir(f"/proc/{self.process.pid}/task"))

    def descriptors(self) -> int:
        """How many files and sockets it has open."""
        return len(os.listdir(f"/proc/{self.process.pid}/fd"))

    def processor_s(self) -> float:
        """Seconds of processor time used so far."""
        fields = Path(f"/proc/{self.process.pid}/stat").read_text().rsplit(")", 1)[1].split()
        return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")

    def stop(self) -> int:
        """Interrupt it, as Ctrl-C does; its exit code."""
        if self.process.poll() is None:
            self.process.send_signal(signal.SIGINT)
        try:
            return self.process.wait(PATIENCE_S)
        finally:
            self.process.kill()
            self.process.wait()

    def close(self) -> None:
        """Let go of the terminal, once the program has ended."""
        self._reader.join(PATIENCE_S)
        os.close(self._terminal)

    def _read(self) -> None:
        while True:
            select.select([self._terminal], [], [])
            try:
                data = os.read(self._terminal, 65_536)
            except OSError:  # the program has closed its end
                return
            if not data:
                return
            self._output.append((time.monotonic(), data))


@contextmanager
def live_program(
    folder: Path, environment: Mapping[str, str], *options: str,
    procedure: str = "evacuate-and-release", terminal: str = "dumb",
) -> Iterator[LiveProgram]:
    """The program for the time of a test; its job's folder is `.folder`."""
    program = LiveProgram(folder, environment, procedure, options, terminal)
    try:
        yield program
    finally:
        program.stop()
        program.close()


def quiet_job(folder: Path, server: SoundServer) -> None:
    """A job that was begun by keys, with the voice off: then nothing makes it deaf."""
    subprocess.run(
        [sys.executable, "-m", "fieldvoice", "work", "evacuate-and-release", "--job", "live",
         "--typed"], input="quiet\n", text=True, check=True, capture_output=True, cwd=folder,
        env={**dict(server.environment), "XDG_DATA_HOME": str(folder / "data"), "PATH": "/usr/bin"},
    )  # fmt: skip


@contextmanager
def at_work(
    folder: Path, *options: str, quiet: bool = True
) -> Iterator[tuple[SoundServer, LiveProgram]]:
    """A server, and the program at work on it; `quiet`: without a voice."""
    with sound_server(folder / "sound") as server:
        if quiet:
            quiet_job(folder, server)
        with live_program(folder, server.environment, *options) as program:
            program.wait_for("Put on your glasses")
            yield server, program


def listens(server: SoundServer, program: LiveProgram, count: int = 1) -> None:
    """Speak until it hears: a virtual device takes a moment to begin."""
    for _ in range(10):
        server.speak(NEXT)
        until = time.monotonic() + 3
        while time.monotonic() < until:
            if len(program.heard()) >= count:
                return
            time.sleep(0.05)
    raise AssertionError(f"it does not hear:\n{program.output[-2_000:]}")
