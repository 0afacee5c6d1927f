"""Alter, cut and disturb a job in every way: what was acknowledged is kept, the rest is detected.

`cd tests && nice python -m by_hand.fault_campaign [SEED] [KILLS]` prints what was done, what was
acknowledged and lost, what was not detected and what ended in a traceback, and lists each miss.
The disk's own faults are in tests/real_process/test_disk_trouble.py; they are run at its end.
"""

from __future__ import annotations

import hashlib
import os
import random
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path

from by_hand.fault_deeds import DEEDS
from by_hand.kill_moments import kill_moments
from fieldvoice.devices.joblog import JobLog, read_log, register_path, verify
from fieldvoice.errors import FieldvoiceError
from fieldvoice.jobstate.events import Entry, Event, JobStarted, LineHeard, ReadingTaken, Said
from support.small_procedure import TEXT

AT = datetime(2026, 3, 2, 14, tzinfo=UTC)
OFFSETS, FLIPS = 1_000, 300


@dataclass
class Figures:
    """What was done and seen."""

    offsets: int = 0
    acknowledged: int = 0
    lost: int = 0
    done: int = 0  # alterations that must be detected
    detected: int = 0
    tracebacks: int = 0
    misses: list[str] = field(default_factory=list)

    def lines(self) -> Iterator[str]:
        """For people."""
        for name, value in vars(self).items():
            if name != "misses":
                yield f"{name:>14}  {value:,}"
        yield from (f"MISS: {miss}" for miss in self.misses)


class Campaign:
    """One job, as it was when it was killed (`running`) and as it was sealed (`sealed`)."""

    def __init__(self, place: Path, seed: int) -> None:
        self.figures, self._chance = Figures(), random.Random(seed)
        self.folder = place / "job"
        self._running, self._sealed = place / "running", place / "sealed"
        self._ends = [0]  # of the log after each turn
        with JobLog.create(self.folder, TEXT) as log:
            for number, turn in enumerate(_turns()):
                events = turn
                if number % 3 == 0:
                    clip = log.save_clip(bytes(range(256)) * (number + 1))
                    events = [*turn, LineHeard(
                        "words", "voice", {}, 0.9, clip.path, clip_sha256=clip.sha256,
                        clip_bytes=clip.bytes)]
                at = AT + timedelta(seconds=number)
                log.append_all([Entry(log.next_seq + n, at, v) for n, v in enumerate(events)])
                self._ends.append((self.folder / "log.jsonl").stat().st_size)
            self._save(self._running)
        self._save(self._sealed)
        self.raw = (self._sealed / "log.jsonl").read_bytes()

    def _save(self, state: Path) -> None:
        shutil.copytree(self.folder, state)
        shutil.copyfile(register_path(), state.with_suffix(".seals"))

    def _restore(self, state: Path) -> None:
        shutil.rmtree(self.folder, ignore_errors=True)
        shutil.copytree(state, self.folder)
        shutil.copyfile(state.with_suffix(".seals"), register_path())

    def kill_offsets(self, count: int) -> None:
        """The log ends anywhere after what was acknowledged: nothing of that is lost."""
        for _ in range(count):
            at = self._chance.randrange(self._ends[2], len(self.raw))
            whole = max(end for end in self._ends if end <= at)
            self._restore(self._running)
            os.truncate(self.folder / "log.jsonl", at)
            self._without_later_sounds(due=self.raw[:whole].count(b"\n") + 1)
            self.figures.offsets += 1
            self._go_on(at, self.raw[:whole])

    def _without_later_sounds(self, due: int) -> None:
        """Those that were not kept yet when line `due` was written."""
        for clip in (self.folder / "clips").iterdir():
            if int(clip.stem) > due:
                clip.unlink()

    def _go_on(self, at: int, acknowledged: bytes) -> None:
        lines = acknowledged.count(b"\n")
        self.figures.acknowledged += lines
        try:
            with JobLog(self.folder) as log:
                log.append(Said("on again", "answer"), AT + timedelta(hours=1))
        except FieldvoiceError as error:
            self.figures.lost += lines
            self._miss(f"log cut at {at}: it does not open: {error}")
            return
        except Exception as error:
            self._traceback(f"log cut at {at}", error)
            return
        found = (self.folder / "log.jsonl").read_bytes()
        if not found.startswith(acknowledged) or found.count(b"\n") != lines + 1:
            self.figures.lost += lines
            self._miss(f"log cut at {at}: acknowledged lines are lost")
        if not verify(self.folder).intact:
            self._miss(f"log cut at {at}: gone on with, and not intact")

    def last_lines(self) -> None:
        """Every byte of the last two lines cut off."""
        begins = self.raw[:-1].rfind(b"\n", 0, self.raw[:-1].rfind(b"\n")) + 1
        for at in range(begins, len(self.raw)):
            self._alter(f"log cut at {at}", lambda f, at=at: os.truncate(f / "log.jsonl", at))

    def flips(self, count: int) -> None:
        """One bit anywhere; in the last line as often as in all others."""
        last = self.raw[:-1].rfind(b"\n") + 1
        for number in range(count):
            at = self._chance.randrange(last if number % 2 else 0, len(self.raw))
            bit = 1 << self._chance.randrange(8)
            changed = self.raw[:at] + bytes([self.raw[at] ^ bit]) + self.raw[at + 1 :]
            self._alter(f"bit {bit} of byte {at} flipped",
                        lambda f, raw=changed: (f / "log.jsonl").write_bytes(raw))

    def deeds(self) -> None:
        """All others, of fault_deeds.py."""
        for name, deed in DEEDS:
            self._alter(name, deed)

    def _alter(self, name: str, deed: Callable[[Path], object]) -> None:
        self._restore(self._sealed)
        deed(self.folder)
        self.figures.done += 1
        try:
            found = verify(self.folder)
            proven = found.intact and found.sealed == "sealed"
        except FieldvoiceError:
            proven = False
        except Exception as error:
            self._traceback(name, error)
            return
        if proven:
            self._miss(f"{name}: not detected")
        else:
            self.figures.detected += 1
        self._use(name)

    def _use(self, name: str) -> None:
        """Reading and opening give errors of ours, or work."""
        for use in (read_log, _open):
            try:
                use(self.folder)
            except FieldvoiceError:
                continue
            except Exception as error:
                self._traceback(f"{name}: {use.__name__}", error)

    def _traceback(self, name: str, error: Exception) -> None:
        self.figures.tracebacks += 1
        self._miss(f"{name}: {type(error).__name__}: {error}")

    def _miss(self, what: str) -> None:
        self.figures.misses.append(what)


def _open(folder: Path) -> None:
    JobLog(folder).close()


def _turns() -> Iterator[list[Event]]:
    sha256 = hashlib.sha256(TEXT.encode()).hexdigest()
    yield [JobStarted("job", "small", sha256, "0")]
    for number in range(12):
        yield [ReadingTaken("vacuum", f"{900 - number}", "micron", 120.0, "Pa", "read"),
               Said(f"{900 - number} microns.", "answer")]
    yield [Said("the end", "answer"), Said("really", "answer")]


def campaign(place: Path, seed: int, offsets: int = OFFSETS, flips: int = FLIPS) -> Figures:
    """All of it in a folder of its own; the environment must point the data there."""
    found = Campaign(place, seed)
    found.kill_offsets(offsets)
    found.last_lines()
    found.flips(flips)
    found.deeds()
    return found.figures


def main() -> None:
    """From the command line."""
    seed = int(sys.argv[1]) if len(sys.argv) > 1 else 18
    kills = int(sys.argv[2]) if len(sys.argv) > 2 else 50
    with tempfile.TemporaryDirectory() as folder:
        os.environ["XDG_DATA_HOME"] = str(Path(folder) / "data")
        figures = campaign(Path(folder), seed)
        print(*figures.lines(), sep="\n", flush=True)
        (Path(folder) / "kills").mkdir()
        killed = kill_moments(kills, Path(folder) / "kills", seed)
    print(*killed.lines(), sep="\n", flush=True)
    disk = subprocess.run([sys.executable, "-m", "pytest", "-q", "-n", "0", "-rs",
                           "real_process/test_disk_trouble.py"], check=False)
    sys.exit(bool(figures.misses or killed.wrong or disk.returncode))


if __name__ == "__main__":
    main()
