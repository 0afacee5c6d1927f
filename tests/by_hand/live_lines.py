"""How fast and how lastingly the real program answers through a real sound server.

    cd tests && python -m by_hand.live_lines --lines 100
    cd tests && python -m by_hand.live_lines --minutes 25 --json soak.json

Recorded lines are played into a virtual microphone, one after the other, each after the last reply
and a pause of 0.6 to 1.3 s; the microphone hears the program's own voice, 20 dB softer. Printed are
the time from the end of each line's sound to the start of the reply's sound (both taken from
recordings of the server, in pieces of 20 ms), what was heard wrongly or not at all, and how memory,
descriptors and connections grew.
"""

from __future__ import annotations

import argparse
import json
import os
import pty
import random
import re
import signal
import statistics
import subprocess
import sys
import tempfile
import threading
import time
import tomllib
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from fieldvoice.devices.soundfile import read_sound
from fieldvoice.language.intents import NotUnderstood
from fieldvoice.language.parser import understand
from support.sound_server import SoundServer, sound_server

DEMO = Path(__file__).resolve().parents[2] / "recordings_demo"
PIECE_S = 0.02
LOUD = {"mic": 1000, "room.monitor": 120}  # of int16; the echo of the voice stays below the first
QUIET_S = 0.35  # of the loudspeaker: a reply has ended
NO_REPLY_S = 6.0
ECHO_S = 0.1  # a loud tone may come back to the microphone before the loudspeaker's recording tells
HELD_BACK = re.compile(  # lines that would stop the talk or end the job
    r"stand by|carry on|note|finish|voice|quiet|louder|softer|slower|faster|yes|no|unit|go to")


class Loudness:
    """When it was loud in a device of the server: moments of monotonic time, as they come."""

    def __init__(self, server: SoundServer, device: str) -> None:
        self.moments: list[float] = []
        self._limit = LOUD[device]
        self._process = subprocess.Popen(
            ["parec", "-d", device, "--raw", "--rate=16000", "--channels=1", "--format=s16le",
             "--latency-msec=20"],
            env={**os.environ, **server.environment}, stdout=subprocess.PIPE,
        )  # fmt: skip
        threading.Thread(target=self._listen, daemon=True).start()

    def _listen(self) -> None:
        assert self._process.stdout is not None
        while data := self._process.stdout.read(int(PIECE_S * 16_000) * 2):
            if np.abs(np.frombuffer(data, dtype="<i2").astype(int)).max(initial=0) > self._limit:
                self.moments.append(time.monotonic())

    def first_after(self, moment: float) -> float | None:
        """The first loud moment after one."""
        return next((m for m in self.moments if m > moment), None)

    def last_before(self, moment: float) -> float:
        """The last loud moment before one."""
        return max((m for m in self.moments if m < moment), default=0.0)

    def last(self) -> float:
        """The last loud moment; 0 when there was none."""
        return self.moments[-1] if self.moments else 0.0

    def quiet_for(self) -> float:
        """Seconds since it was loud."""
        return time.monotonic() - self.last()

    def close(self) -> None:
        """Stop recording."""
        self._process.terminate()


@dataclass
class Talk:
    """What was said and what came of it."""

    said: str
    heard: list[str] = field(default_factory=list)
    after_s: float | None = None  # from the end of the line to the start of the reply


class Program:
    """`fieldvoice work` on a terminal of its own, which is read and thrown away."""

    def __init__(self, server: SoundServer, home: Path, options: list[str]) -> None:
        self.log = home / "fieldvoice" / "jobs" / "live" / "log.jsonl"
        environment = {**os.environ, **server.environment, "XDG_DATA_HOME": str(home),
                       "TERM": "xterm-256color", "COLUMNS": "100", "LINES": "40"}
        self.pid, self._terminal = pty.fork()
        if not self.pid:
            command = [sys.executable, "-m", "fieldvoice"]
            if script := Path(sys.executable).with_name("fieldvoice"):
                command = [str(script)]
            os.execvpe(command[0],
                       [*command, "work", "evacuate-and-release", "--job", "live", *options],
                       environment)
        self.shown = bytearray()
        threading.Thread(target=self._read, daemon=True).start()

    def _read(self) -> None:
        while True:
            try:
                self.shown += os.read(self._terminal, 65_536)
            except OSError:
                return

    def type(self, text: str) -> None:
        """Type a line."""
        os.write(self._terminal, text.encode() + b"\r")

    def heard(self) -> list[str]:
        """Words of every spoken line in the log."""
        if not self.log.exists():
            return []
        found = [json.loads(line) for line in self.log.read_bytes().splitlines(keepends=True)
                 if line.endswith(b"\n")]
        return [one["data"]["words"] for one in found
                if one["kind"] == "line-heard" and one["data"]["source"] == "voice"]

    def resident_mb(self) -> float:
        """Memory in use."""
        pages = int(Path(f"/proc/{self.pid}/statm").read_text().split()[1])
        return pages * os.sysconf("SC_PAGE_SIZE") / 1e6

    def processor_s(self) -> float:
        """Processor time so far."""
        fields = Path(f"/proc/{self.pid}/stat").read_text().rsplit(")", 1)[1].split()
        return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")

    def descriptors(self) -> int:
        """Open files."""
        return len(os.listdir(f"/proc/{self.pid}/fd"))

    def stop(self) -> None:
        """As with Ctrl-C."""
        os.kill(self.pid, signal.SIGINT)
        for _ in range(100):
            if os.waitpid(self.pid, os.WNOHANG)[0]:
                return
            time.sleep(0.1)
        os.kill(self.pid, signal.SIGKILL)
        os.waitpid(self.pid, 0)


def is_ours(text: str) -> bool:
    """Whether it is said to Fieldvoice: talk between people rightly gets no reply."""
    return not isinstance(understand(text, typed=False), NotUnderstood)


def demo_lines() -> list[tuple[str, Path]]:
    """Text and sound of the demo's lines that leave the talk going."""
    found = []
    for job in sorted(DEMO.glob("*/job.toml")):
        for line in tomllib.loads(job.read_text(encoding="utf-8"))["line"]:
            if "file" in line and is_ours(line["text"]) and not HELD_BACK.search(line["text"]):
                found.append((line["text"], job.parent / line["file"]))
    return found


def talk(program: Program, server: SoundServer, room: Loudness, mic: Loudness,
         text: str, sound: Path) -> Talk:  # fmt: skip
    """Say a line; wait for what is heard and for the reply's first sound."""
    before = len(program.heard())
    started = time.monotonic()
    server.speak(read_sound(sound))
    began, spoken = None, time.monotonic()
    while began is None and time.monotonic() < spoken + NO_REPLY_S:
        time.sleep(3 * PIECE_S)
        began = room.first_after(started)
    # from then on the microphone hears the reply, too
    ended = mic.last_before(spoken if began is None else began - ECHO_S)
    found = Talk(text, program.heard()[before:], None if began is None else began - ended)
    while room.quiet_for() < QUIET_S:
        time.sleep(PIECE_S)
    return found


def told(talks: list[Talk]) -> str:
    """The figures of a talk."""
    waits = [one.after_s for one in talks if one.after_s is not None]
    exact = sum(one.heard == [one.said] for one in talks)
    lines = [f"{len(talks)} lines, {exact} heard word for word as one line; "
             f"{len(talks) - len(waits)} without a reply"]
    if waits:
        early = sum(wait < 0.3 for wait in waits)
        lines.append(f"reply after {statistics.median(waits):.2f} s in the median, "
                     f"{sorted(waits)[int(0.9 * (len(waits) - 1))]:.2f} s in nine of ten, "
                     f"{max(waits):.2f} s at worst; {early} earlier than 0.3 s (cut short?)")
    lines += [f"  said {one.said!r}, heard {one.heard}, reply after {one.after_s}"
              for one in talks if one.heard != [one.said] or (one.after_s or 9.0) > 1.5]
    return "\n".join(lines)


def main() -> None:
    """Talk with the program and print the figures."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--lines", type=int, default=100)
    parser.add_argument("--minutes", type=float, help="instead of a number of lines")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--json", type=Path, help="write each line's figures")
    parser.add_argument("options", nargs="*", help="for the program, after --")
    args = parser.parse_args()
    drawn, lines = random.Random(args.seed), demo_lines()
    with tempfile.TemporaryDirectory() as folder, sound_server(Path(folder) / "sound") as server:
        server.echo(-20.0)
        room, mic = Loudness(server, "room.monitor"), Loudness(server, "mic")
        started = time.monotonic()
        program = Program(server, Path(folder) / "home", args.options)
        talks: list[Talk] = []
        try:
            while room.quiet_for() > 5.0 and time.monotonic() < started + 30:
                time.sleep(0.05)
            print(f"first sound {room.moments[0] - started:.2f} s after the start")
            while room.quiet_for() < 2.0:
                time.sleep(0.05)
            program.type("understood")
            time.sleep(3.0)
            first = (program.resident_mb(), program.descriptors(), server.connections())
            processor, begun = program.processor_s(), time.monotonic()
            last = begun + 60 * (args.minutes or 1e9)
            while len(talks) < (args.lines if args.minutes is None else 1e9) and (
                    time.monotonic() < last):
                text, sound = drawn.choice(lines)
                time.sleep(drawn.uniform(0.6, 1.3) - QUIET_S)
                talks.append(talk(program, server, room, mic, text, sound))
                if len(talks) % 20 == 0:
                    print(f"{len(talks)} lines, {program.resident_mb():.0f} MB, "
                          f"{program.descriptors()} descriptors, "
                          f"{server.connections()} connections", flush=True)
            now = (program.resident_mb(), program.descriptors(), server.connections())
            took = time.monotonic() - begun
            print(told(talks))
            print(f"in {took / 60:.1f} minutes: memory {first[0]:.0f} to {now[0]:.0f} MB, "
                  f"descriptors {first[1]} to {now[1]}, connections {first[2]} to {now[2]}, "
                  f"{(program.processor_s() - processor) / took:.1%} of a core")
            if args.json:
                args.json.write_text(json.dumps([vars(one) for one in talks], indent=1))
        finally:
            program.stop()
            room.close()
            mic.close()


if __name__ == "__main__":
    main()
