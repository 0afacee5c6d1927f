"""Kill a working Fieldvoice at random moments and see that nothing acknowledged is lost.

`cd tests && nice python -m by_hand.kill_moments [MOMENTS] [SEED]` works one job through so many
kills, each at a random moment between the start of the process and some seconds of work, and
prints the figures. A wrong one ends it with what was wrong.
"""

from __future__ import annotations

import json
import random
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from pathlib import Path

from fieldvoice.devices.joblog import parse_log
from fieldvoice.jobstate.timers import say_duration
from support.real_work import Found, RealWork

BEGINNING = ("understood", "900 microns", "410 microns", "start the hold",
             "start a 45 minute nitrogen timer")
LINES = ("how long left", "412 microns", "where are we", "start a 20 second oil timer",
         "note: gasket looks worn", "start a 90 second timer", "how long left")
WORKED_S = 3.0  # the latest moment, after what it counts from
# What a moment counts from: the start of the process, its first line, the first line it heard.
FROM = ("start", "written", "heard", "heard")
TOLD_EVERY = 10
RIGHT_S = 1.0  # to the second


@dataclass
class Figures:
    """What was seen."""

    kills: int = 0
    before_the_first_line: int = 0  # killed so early that the log took nothing
    torn: int = 0  # logs whose last line was cut
    events: int = 0  # acknowledged: written to standard output
    replies: int = 0
    asked: int = 0  # replies that told what is left, checked
    ends: int = 0  # timers that ran out
    drift_s: float = 0.0  # of the log's times against the steady clock, from the first line on
    left_s: float = 0.0  # the largest error of a time left that was told, in whole seconds
    late: int = 0  # ends told late, though a process was there: it was still waking up
    late_s: float = 0.0  # the latest of them
    wrong: list[str] = field(default_factory=list)

    def lines(self) -> Iterator[str]:
        """For people."""
        for name, value in vars(self).items():
            if name != "wrong":
                shown = f"{value:.3f}" if isinstance(value, float) else value
                yield f"{name.replace('_', ' '):>22}  {shown}"
        yield from (f"WRONG: {what}" for what in self.wrong)


def kill_moments(
    moments: int, folder: Path, seed: int = 17,
    tell: Callable[[Figures], None] = lambda figures: None,
) -> Figures:
    """Kill one job's process so many times; the figures, with all that was wrong."""
    chance, figures = random.Random(seed), Figures()
    _begin(folder)
    for done in range(1, moments + 1):
        _one(folder, chance, figures)
        if done % TOLD_EVERY == 0:
            tell(figures)
    _check_timers(folder, figures)
    return figures


def _begin(folder: Path) -> None:
    with RealWork(folder) as work:
        for line in BEGINNING:
            work.say(line)
        work.replied("Nitrogen: 45 minutes.")
        work.kill()


def _one(folder: Path, chance: random.Random, figures: Figures) -> None:
    before = (folder / "job" / "log.jsonl").read_bytes()
    with RealWork(folder) as work:
        begins = chance.choice(FROM)
        if begins != "start":
            work.say(chance.choice(LINES))
            work.until(**{"kind": "line-heard"} if begins == "heard" else {})
        ends = time.monotonic() + chance.uniform(0.0, WORKED_S)
        while (left := ends - time.monotonic()) > 0:
            work.say(chance.choice(LINES))
            time.sleep(min(left, chance.uniform(0.0, 0.5)))
        work.kill()
        figures.kills += 1
        _check(work, before, figures)


def _check(work: RealWork, before: bytes, figures: Figures) -> None:
    """What was logged before stands; what was printed is in the log, and every reply was logged."""
    raw = work.log.read_bytes()
    whole = before[: before.rfind(b"\n") + 1]
    figures.torn += len(before) > len(whole)
    if not raw.startswith(whole):
        figures.wrong.append("lines of an earlier process are gone")
    read = parse_log(raw, "log")
    figures.wrong += read.broken
    lines = work.logged()
    new = lines[whole.count(b"\n"):]
    figures.before_the_first_line += not new
    if "Traceback" in work.told_beside:
        figures.wrong.append(work.told_beside)
    if [entry.at for entry in read.entries] != sorted(entry.at for entry in read.entries):
        figures.wrong.append("times run back")
    kept = {line["seq"]: (line["kind"], line["data"]) for line in lines}
    said = [line["data"]["text"] for line in new if line["kind"] == "said"]
    for found in work.read:
        if "kind" in found:
            figures.events += 1
            if kept.get(found["seq"]) != (found["kind"], found["data"]):
                figures.wrong.append(f"printed, but not in the log: {found}")
    told = [found["spoken"] or found["reply"] for found in work.read if "reply" in found]
    figures.replies += len(told)
    if told != said[: len(told)]:
        figures.wrong.append(f"replies {told} where the log has {said}")


def _check_timers(folder: Path, figures: Figures) -> None:
    lines = _lines(folder)
    drift = [min(map(_behind, process)) for process in _processes(lines)]
    figures.drift_s = max(abs(each - drift[0]) for each in drift)
    _check_left(lines, figures)
    _check_ends(lines, figures)
    if figures.drift_s > RIGHT_S:
        figures.wrong.append("timers are not right to the second")


def _processes(lines: list[Found]) -> list[list[Found]]:
    """The lines of each process that worked."""
    found: list[list[Found]] = [[]]
    for line in lines:
        if line["kind"] == "job-resumed":
            found.append([])
        found[-1].append(line)
    return found


def _lines(folder: Path) -> list[Found]:
    raw = (folder / "job" / "log.jsonl").read_bytes()
    return [json.loads(line) for line in raw.split(b"\n")[:-1]]


def _behind(line: Found) -> float:
    """Steady seconds less the time of a line, which is written a little after that time."""
    return float(line["mono"]) - datetime.fromisoformat(line["utc"]).timestamp()


def _check_left(lines: list[Found], figures: Figures) -> None:
    """Every answer to "how long left" against the steady clock."""
    started: dict[str, tuple[float, float]] = {}  # label -> when, how long, by the steady clock
    asked = False
    for line in lines:
        data = line["data"]
        if line["kind"] == "timer-started":
            started[data["label"]] = (line["mono"], data["seconds"])
        elif line["kind"] == "timer-finished":
            started.pop(data["label"], None)
        elif line["kind"] == "line-heard":
            asked = data["words"] == "how long left"
        elif line["kind"] == "said" and asked and data["text"].endswith("left."):
            figures.asked += 1
            asked = False
            for label, (mono, seconds) in started.items():
                _one_left(f"{label.capitalize()}: ", seconds - (line["mono"] - mono),
                          data["text"], figures)


def _one_left(label: str, left: float, text: str, figures: Figures) -> None:
    told = next((part for part in text.split("left.") if label in part), "")
    for off in (0, 1, -1):
        if f"{label}{say_duration(timedelta(seconds=left + off))} " in told:
            figures.left_s = max(figures.left_s, abs(off))
            return
    if left > 1:
        figures.wrong.append(f"{label}{left:.1f} s were left where it said: {text}")


def _check_ends(lines: list[Found], figures: Figures) -> None:
    """Every end: not early, and not late where the program was there to tell it."""
    started: dict[str, float] = {}
    there = 0.0  # when the process that runs went on
    for line in lines:
        data, mono = line["data"], line["mono"]
        if line["kind"] == "job-resumed":
            there = mono
        elif line["kind"] == "timer-started":
            started[data["label"]] = mono + data["seconds"]
        elif line["kind"] == "timer-finished":
            figures.ends += 1
            due = started.pop(data["label"])
            if mono < due - 0.5:
                figures.wrong.append(f"{data['label']} ended {due - mono:.1f} s early")
            figures.late_s = max(figures.late_s, mono - max(due, there))
            figures.late += mono - max(due, there) > RIGHT_S + 0.5


def main() -> None:
    """From the command line."""
    moments = int(sys.argv[1]) if len(sys.argv) > 1 else 200
    seed = int(sys.argv[2]) if len(sys.argv) > 2 else 17
    with tempfile.TemporaryDirectory() as folder:
        figures = kill_moments(moments, Path(folder), seed, lambda so_far: print(
            f"{so_far.kills} kills, {so_far.events} events, {len(so_far.wrong)} wrong", flush=True))
    print(*figures.lines(), sep="\n")
    sys.exit(bool(figures.wrong))


if __name__ == "__main__":
    main()
