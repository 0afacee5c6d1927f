"""The real `fieldvoice work` as a process of its own, read line by line as it writes."""

from __future__ import annotations

import contextlib
import json
import os
import queue
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Mapping
from pathlib import Path
from types import TracebackType
from typing import Any

from fieldvoice.devices.joblog import LOG_NAME
from support.small_procedure import TEXT

Found = dict[str, Any]
PATIENCE_S = 120.0  # of a machine with much else to do


class RealWork:
    """`fieldvoice work --typed --json` on a small procedure; kills it at the end."""

    def __init__(self, folder: Path, *options: str, **environment: str) -> None:
        (folder / "small.procedure").write_text(TEXT, encoding="utf-8")
        self.log = folder / "job" / LOG_NAME
        self.read: list[Found] = []  # whole lines, in the order in which they came
        self.told_beside = ""  # standard error, once it has ended
        self._came: queue.Queue[Found | None] = queue.Queue()
        self.process = subprocess.Popen(
            [sys.executable, "-m", "fieldvoice", "work", "small.procedure", "--job", "./job",
             "--typed", "--json", *options],
            cwd=folder, env={**os.environ, "PYTHONUTF8": "1", **environment},
            stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE,
        )  # fmt: skip
        self._threads = [threading.Thread(target=read, daemon=True)
                         for read in (self._read_lines, self._read_beside)]
        for thread in self._threads:
            thread.start()

    def _read_lines(self) -> None:
        assert self.process.stdout is not None
        try:
            for line in self.process.stdout:
                if line.endswith(b"\n"):  # a kill may cut the last one
                    self.read.append(json.loads(line))
                    self._came.put(self.read[-1])
        finally:  # after a line that is no JSON too: then nobody waits for more
            self._came.put(None)

    def _read_beside(self) -> None:
        assert self.process.stderr is not None
        self.told_beside = self.process.stderr.read().decode("utf-8", "replace")

    def say(self, line: str) -> None:
        """Type a line; one that comes too late is lost with its reader."""
        assert self.process.stdin is not None
        with contextlib.suppress(BrokenPipeError):
            self.process.stdin.write(f"{line}\n".encode())
            self.process.stdin.flush()

    def until(self, contains: Mapping[str, str] | None = None, **wanted: object) -> Found:
        """The next line with these values, some of which need only contain a text."""
        ends = time.monotonic() + PATIENCE_S
        while True:
            try:
                found = self._came.get(timeout=max(ends - time.monotonic(), 0.01))
            except queue.Empty:
                raise self._in_vain(f"came in {PATIENCE_S:g} s", contains, wanted) from None
            if found is None:
                raise self._in_vain("came before the end", contains, wanted)
            if wanted.items() <= found.items() and all(
                    text in str(found.get(name, "")) and name in found
                    for name, text in (contains or {}).items()):
                return found

    def _in_vain(
        self, until: str, contains: Mapping[str, str] | None, wanted: Mapping[str, object]
    ) -> AssertionError:
        return AssertionError(f"no line with {dict(wanted)} that contains {dict(contains or {})} "
                              f"{until}; the last that came: {self.read[-8:]}; told beside: "
                              f"{self.told_beside!r}")

    def replied(self, text: str) -> str:
        """The next reply that contains a text."""
        return str(self.until({"reply": text})["reply"])

    def replies(self) -> list[str]:
        """All replies so far."""
        return [str(found["reply"]) for found in list(self.read) if "reply" in found]

    def kill(self, how: int = signal.SIGKILL) -> None:
        """Send a signal and wait for the end; all that was written is read then."""
        self.process.send_signal(how)
        self.process.wait(PATIENCE_S)
        for thread in self._threads:
            thread.join(PATIENCE_S)

    def end(self) -> None:
        """Close the input and wait for the end."""
        assert self.process.stdin is not None
        self.process.stdin.close()
        assert self.process.wait(PATIENCE_S) == 0, self.told_beside
        for thread in self._threads:
            thread.join(PATIENCE_S)

    def logged(self) -> list[Found]:
        """The lines of the log, whole ones."""
        return [json.loads(line) for line in self.log.read_bytes().split(b"\n")[:-1]]

    def __enter__(self) -> RealWork:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        if self.process.poll() is None:
            self.kill()
        for stream in (self.process.stdin, self.process.stdout, self.process.stderr):
            if stream is not None:
                with contextlib.suppress(BrokenPipeError):
                    stream.close()
