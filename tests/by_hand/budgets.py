"""Measure what the program costs against its budgets: `cd tests && python -m by_hand.budgets`.

Figures are of the machine it runs on; nothing here passes or fails.
"""

from __future__ import annotations

import os

os.environ["OMP_NUM_THREADS"] = "1"  # before any library starts threads: one core

import random
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from fieldvoice.commands.report import write_report
from fieldvoice.commands.wiring.find_procedure import find_text
from fieldvoice.commands.wiring.models import load_recognizer
from fieldvoice.commands.wiring.open_job import OpenJob
from fieldvoice.commands.wiring.recorded_jobs import shipped_jobs
from fieldvoice.devices.clock import Clock
from fieldvoice.devices.joblog import JobLog, read_log
from fieldvoice.devices.soundfile import RATE, read_sound
from fieldvoice.devices.vosk_recognizer import OWN_MODEL
from fieldvoice.jobstate.events import Said
from fieldvoice.language.decoding_graph import random_sentence
from fieldvoice.language.parser import understand

EVENTS = 10_000
START = "from fieldvoice.commands.wiring.models import load_recognizer\nload_recognizer(None)"


def seconds(work: Callable[[], object]) -> float:
    """Wall seconds of a piece of work."""
    began = time.perf_counter()
    work()
    return time.perf_counter() - began


def parsing() -> list[float]:
    """Seconds for each of 500 sentences of the grammar, once it is loaded."""
    rng = random.Random(1)
    lines = [" ".join(random_sentence(rng)) for _ in range(500)]
    understand(lines[0])
    return [seconds(lambda line=line: understand(line)) for line in lines]


def decoding() -> tuple[float, float]:
    """Processor seconds for the recordings of the demo, and seconds of sound in them."""
    recognizer = load_recognizer(None)
    sounds = [read_sound(path) for job in shipped_jobs() for path in sorted(job.glob("*.flac"))]
    began = time.process_time()
    for pcm in sounds:
        recognizer.hear(pcm)
    return time.process_time() - began, sum(map(len, sounds)) / RATE


def long_job(folder: Path) -> OpenJob:
    """A job with many typed notes and readings."""
    text, where = find_text("evacuate-and-release")
    job = OpenJob(folder, text, where, Clock(), lambda reply: None)
    job.start({})
    number = 0
    while job.log.next_seq <= EVENTS:
        number += 1
        job.session.hear_line(f"note: cap {number} is tight", "typed")
        job.session.hear_line(f"vacuum {400 + number % 50} microns", "typed")
    return job


def resumed(folder: Path) -> None:
    """Open a job that exists: read its log, check the hashes, fold it."""
    text, where = find_text("evacuate-and-release")
    with OpenJob(folder, text, where, Clock(), lambda reply: None):
        pass


def appending(log: JobLog) -> list[float]:
    """Seconds for each of 200 events, flushed to disk."""
    event, at = Said("Vacuum 412 microns.", "answer"), Clock().now()
    return [seconds(lambda: log.append(event, at)) for _ in range(200)]


def row(what: str, found: str, budget: str) -> None:
    """Print a line of the table."""
    print(f"{what:44} {found:>20}   budget {budget}", flush=True)


def main() -> None:
    """Measure and print."""
    spent = sorted(parsing())
    row("parse a line, median and worst of 500",
        f"{1e3 * statistics.median(spent):.2f}, {1e3 * spent[-1]:.1f} ms", "2 ms")
    with tempfile.TemporaryDirectory() as into:
        folder = Path(into) / "long"
        with long_job(folder) as job:
            appended = statistics.median(appending(job.log))
        row("append an event, flushed, median", f"{1e3 * appended:.2f} ms", "10 ms")
        row(f"resume a job of {EVENTS:,} events", f"{seconds(lambda: resumed(folder)):.2f} s",
            "0.5 s")
        spent_s = seconds(lambda: write_report(read_log(folder), folder, folder))
        row("its report and CSV", f"{spent_s:.2f} s", "3 s")
    if not OWN_MODEL.is_dir():
        print("no speech model: hearing is not measured", file=sys.stderr)
        return
    run = [sys.executable, "-c", START]
    row("start to listening", f"{seconds(lambda: subprocess.run(run, check=True)):.2f} s", "2 s")
    used, sound = decoding()
    row("decode a second of sound, one core", f"{used / sound:.4f} s", "0.03 s")
    resident = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    row("largest resident memory of all this", f"{resident:.0f} MB", "200 MB")


if __name__ == "__main__":
    main()
