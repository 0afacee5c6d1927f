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

from by_hand.long_job import EVENTS, SHAPES, long_job
from by_hand.shop_of_jobs import write_shop
from fieldvoice.commands.report import write_report
from fieldvoice.commands.wiring.find_procedure import find_text
from fieldvoice.commands.wiring.models import load_recognizer
from fieldvoice.commands.wiring.open_job import OpenJob
from fieldvoice.commands.wiring.recorded_jobs import shipped_jobs
from fieldvoice.devices.clock import Clock
from fieldvoice.devices.joblog import JobLog, read_log, verify
from fieldvoice.devices.soundfile import RATE, read_sound
from fieldvoice.devices.vosk_recognizer import OWN_MODEL
from fieldvoice.jobstate.events import Said
from fieldvoice.language.decoding_graph import random_sentence
from fieldvoice.language.parser import understand

JOBS = 1_000
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


def resumed(folder: Path) -> None:
    """Open a job that exists: read its log, check the hashes, fold it."""
    text, where = find_text("evacuate-and-release")
    with OpenJob(folder, text, where, Clock(), lambda reply: None):
        pass


def appending(log: JobLog) -> list[float]:
    """Seconds for each of 200 events, flushed to disk."""
    event, at = Said("Vacuum 412 microns.", "answer"), Clock().now()
    return [seconds(lambda: log.append(event, at)) for _ in range(200)]


def a_turn(folder: Path) -> float:
    """Median seconds of 50 typed readings in a job that goes on: understood, answered, on disk."""
    text, where = find_text("evacuate-and-release")
    with OpenJob(folder, text, where, Clock(), lambda reply: None) as job:
        job.start({})
        return statistics.median(
            seconds(lambda: job.session.hear_line("vacuum 420 microns", "typed"))
            for _ in range(50))


def program(*arguments: str, data: Path, typed: str = "") -> float:
    """Wall seconds of the program in a process of its own."""
    return seconds(lambda: subprocess.run(
        [sys.executable, "-m", "fieldvoice", *arguments], input=typed, text=True, check=True,
        stdout=subprocess.DEVNULL, env={**os.environ, "XDG_DATA_HOME": str(data)}))


def long_jobs(into: Path) -> None:
    """What a job costs that has grown long."""
    folder = into / "fieldvoice" / "jobs" / "long"
    folder.parent.mkdir(parents=True)
    long_job(folder)
    what = f"of a job of {EVENTS:,} events"
    row(f"resume {what}", f"{fastest(lambda: resumed(folder)):.2f} s", "0.5 s")
    row("  of that, its log read and checked", f"{fastest(lambda: read_log(folder)):.2f} s", "")
    work = ("work", "evacuate-and-release", "--typed", "--job")
    began = program(*work, "new", data=into)
    row("  work --typed, start to end, a new job", f"{began:.2f} s", "")
    row(f"  the same {what}", f"{program(*work, 'long', data=into):.2f} s", "")
    row("  a typed reading in it, median", f"{1e3 * a_turn(folder):.1f} ms", "")
    row(f"report and CSV {what}",
        f"{seconds(lambda: write_report(read_log(folder), folder, folder)):.2f} s", "3 s")
    row(f"verify {what}", f"{fastest(lambda: verify(folder)):.2f} s", "")
    for shape in list(SHAPES)[1:]:
        other = into / shape.replace(" ", "-")
        long_job(other, EVENTS, shape)
        row(f"resume one of {shape}", f"{fastest(lambda at=other: resumed(at)):.2f} s", "0.5 s")


def many_jobs(into: Path) -> None:
    """What a shop's jobs cost to list and to count."""
    jobs = into / "fieldvoice" / "jobs"
    events = write_shop(jobs, JOBS, 500)
    what = f"{JOBS:,} jobs, {events:,} events"
    row(f"jobs: {what}", f"{program('jobs', data=into):.2f} s", "")
    row(f"shop: {what}", f"{program('shop', str(jobs), data=into):.2f} s", "")


def fastest(work: Callable[[], object]) -> float:
    """Wall seconds of the fastest of three: the others were disturbed."""
    return min(seconds(work) for _ in range(3))


def row(what: str, found: str, budget: str) -> None:
    """Print a line of the table."""
    told = f"   budget {budget}" if budget else ""
    print(f"{what:44} {found:>20}{told}", flush=True)


def main() -> None:
    """Measure and print."""
    spent = sorted(parsing())
    row("parse a line, median and worst of 500",
        f"{1e3 * statistics.median(spent):.2f}, {1e3 * spent[-1]:.1f} ms", "2 ms")
    with tempfile.TemporaryDirectory() as into:
        folder = Path(into) / "short"
        long_job(folder, 200)
        with JobLog(folder) as log:
            appended = statistics.median(appending(log))
        row("append an event, flushed, median", f"{1e3 * appended:.2f} ms", "10 ms")
    for part in (long_jobs, many_jobs):
        with tempfile.TemporaryDirectory() as into:
            part(Path(into))
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
