"""A shop of invented jobs, to see what lists and figures of many jobs cost.

`cd tests && python -m by_hand.shop_of_jobs FOLDER --jobs 1000 --events 500` writes FOLDER/job-00001
and so on; --time lists them and works out every figure, and says how long each took.
"""

from __future__ import annotations

import argparse
import os
import random
import subprocess
import sys
import time
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

from fieldvoice.devices.joblog.lines import FIRST_PREV, line_hash, write_line
from fieldvoice.jobstate import events as e

PLACES = ("roof, east end", "plant room", "shop floor", "yard, north wall", "attic")
TECHNICIANS = ("Ann Lee", "Sam Poe", "Kim Day")
STAGES = ("make-safe", "pump-rig", "evacuation", "standing-test", "close-out")
FIRST = datetime(2026, 1, 5, 8, 0, tzinfo=UTC)
MICRON_PA = 0.13332236842105263


def events(job: str, most: int, chance: random.Random) -> Iterator[e.Event]:
    """What may happen in a job, about `most` events."""
    site = {"place": chance.choice(PLACES), "technician": chance.choice(TECHNICIANS)}
    yield e.JobStarted(job, "evacuate-and-release", "0" * 64, "0.1.0", site)
    room = (most - 2 - 8 * len(STAGES)) // (5 * len(STAGES))
    seq = 1
    for number, stage in enumerate(STAGES):
        step = f"{stage}-step"
        yield from (e.StageEntered(stage, stage), e.StepOpened(stage, step))
        seq += 2
        for _ in range(room):
            value, line = str(chance.randint(300, 900)), seq + 1
            outcome = "asked-back" if chance.random() < 0.1 else "accepted"
            yield e.LineHeard(f"vacuum {value}", "voice",
                              {"intent": "reading", "value": value, "quantity": "vacuum"},
                              round(chance.uniform(0.7, 1), 3), outcome=outcome,
                              speech_db=-22.0, noise_db=float(chance.randint(-70, -35)))
            yield e.ReadingTaken("vacuum", value, "microns", int(value) * MICRON_PA, "Pa", step,
                                 line, within=True)
            if chance.random() < 0.05:
                yield e.ReadingCorrected(line + 1, "480", "microns", 480 * MICRON_PA, "Pa", line)
            else:
                yield e.Reminded("hold", "2 min")
            yield from (e.Said(f"{value} microns.", "answer"), e.Said("Go on.", "prompt"))
            seq += 5
        if stage == "standing-test":
            readings = [{"minutes": m, "pressure_pa": (400 + 5 * m) * MICRON_PA}
                        for m in (0.0, 2.0, 10.0)]
            yield e.VerdictGiven("decay", chance.choice(["tight", "wet", "leaking"]),
                                 {"readings": readings}, step)
            seq += 1
        yield from (e.StepDone(step), e.StageLeft(stage, stage, "done"))
        seq += 2
        if number == len(STAGES) - 1:
            yield e.JobFinished("released")


def write_job(folder: Path, most: int, chance: random.Random) -> int:
    """One job's folder; returns how many events it has."""
    folder.mkdir(parents=True)
    at = FIRST + timedelta(hours=chance.randint(0, 24 * 170))
    prev, lines = FIRST_PREV, []
    for seq, event in enumerate(events(folder.name, most, chance), 1):
        at += timedelta(seconds=chance.randint(1, 30))
        lines.append(write_line(e.Entry(seq, at, event), float(seq), prev))
        prev = line_hash(lines[-1])
    (folder / "log.jsonl").write_bytes(b"".join(line + b"\n" for line in lines))
    (folder / "procedure.txt").write_text("", encoding="utf-8")
    return len(lines)


def write_shop(folder: Path, jobs: int, most: int, seed: int = 1) -> int:
    """A shop's jobs; returns how many events they have together."""
    chance = random.Random(seed)
    return sum(write_job(folder / f"job-{n:05}", most, chance) for n in range(1, jobs + 1))


def told_time(arguments: list[str], data: Path) -> str:
    """How long a command of ours took."""
    began, used = time.monotonic(), os.times()
    subprocess.run([sys.executable, "-m", "fieldvoice", *arguments], check=True,
                   env={**os.environ, "XDG_DATA_HOME": str(data)}, stdout=subprocess.DEVNULL)
    took, after = time.monotonic() - began, os.times()
    cpu = after.children_user + after.children_system - used.children_user - used.children_system
    return f"{' '.join(arguments[:1]):6} {took:6.2f} s, {cpu:6.2f} s of processors"


def main() -> None:
    """Write the jobs, and time what is asked of them."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--jobs", type=int, default=1000)
    parser.add_argument("--events", type=int, default=500)
    parser.add_argument("--time", action="store_true")
    args = parser.parse_args()
    jobs = args.folder / "fieldvoice" / "jobs"  # as $XDG_DATA_HOME has them
    if not jobs.exists():
        print(f"{write_shop(jobs, args.jobs, args.events)} events in {args.jobs} jobs: {jobs}")
    if args.time:
        for command in (["jobs"], ["shop", str(jobs)]):
            print(told_time(command, args.folder))


if __name__ == "__main__":
    main()
