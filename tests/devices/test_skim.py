"""A log that is skimmed says the same of how a job stands, and nothing where anything is odd."""

from __future__ import annotations

import random
from datetime import timedelta
from pathlib import Path

import pytest

from fieldvoice.devices.joblog import read_log, skim
from fieldvoice.devices.joblog.lines import FIRST_PREV, line_hash, write_line
from fieldvoice.jobstate import events as e
from fieldvoice.language import intents as i
from fieldvoice.review.job_facts import SAYS_NOTHING as _SAYS_NOTHING
from fieldvoice.review.job_standing import job_standing
from support import every_sort
from support.bench import Bench
from support.review_job import whole_job


def logged(folder: Path, entries: list[e.Entry]) -> Path:
    prev, lines = FIRST_PREV, []
    for entry in entries:
        lines.append(write_line(entry, float(entry.seq), prev))
        prev = line_hash(lines[-1])
    (folder / "log.jsonl").write_bytes(b"".join(line + b"\n" for line in lines))
    return folder


def benches() -> list[Bench]:
    at_hold = every_sort.at(Bench(every_sort.TEXT), "stand")
    at_hold.say(i.StartHold())
    asked = every_sort.at(Bench(every_sort.TEXT), "pull")
    asked.read(450, "microns", confidence=every_sort.UNSURE)
    away = every_sort.at(Bench(every_sort.TEXT), "pull")
    away.say(i.StandBy())
    back = every_sort.at(Bench(every_sort.TEXT), "stand")
    back.say(i.TakeBack())
    back.say(i.PutBack())
    done = every_sort.at(Bench(every_sort.TEXT), "stand")
    every_sort.run_hold(done, every_sort.TIGHT, 455)
    every_sort.at(done, "finish-up").say(i.Next())
    return [at_hold, asked, away, back, done]


@pytest.mark.parametrize("place", range(5))
def test_a_job_stands_as_the_whole_log_has_it(tmp_path: Path, place: int) -> None:
    entries = benches()[place].log
    found = skim(logged(tmp_path, entries), _SAYS_NOTHING)
    now = entries[-1].at + timedelta(minutes=1)
    assert found is not None
    assert len(found.entries) < found.lines == len(entries)
    whole, quick = job_standing(read_log(tmp_path).entries, now), job_standing(found.entries, now)
    assert quick.units == whole.units
    assert quick.standing == whole.standing
    assert found.last_at == whole.last_at


def test_every_changed_byte_is_left_to_the_whole_reading(tmp_path: Path) -> None:
    raw = (logged(tmp_path, list(whole_job())) / "log.jsonl").read_bytes()
    chance = random.Random(5)
    last = raw[:-1].rindex(b"\n")  # without hashes of their own the last line has no witness
    for _ in range(200):
        place = chance.randrange(last)
        changed = bytes([raw[place] ^ (1 << chance.randrange(7))])
        (tmp_path / "log.jsonl").write_bytes(raw[:place] + changed + raw[place + 1:])
        assert skim(tmp_path, _SAYS_NOTHING) is None, place
    for end in (raw[:-1], raw[:-30], raw + b"half", raw + raw, b"", b"\n"):
        (tmp_path / "log.jsonl").write_bytes(end)
        assert skim(tmp_path, _SAYS_NOTHING) is None


def sealed(entries: list[e.Entry], turn_lines: int = 1) -> bytes:
    """Lines that carry their own hash, each of them a turn of so many lines."""
    prev, lines = FIRST_PREV, []
    for entry in entries:
        lines.append(write_line(entry, 1.0, prev, job="x", turn_lines=turn_lines))
        prev = line_hash(lines[-1])
    return b"".join(line + b"\n" for line in lines)


def test_lines_with_their_own_hash_are_checked_by_it_the_last_one_too(tmp_path: Path) -> None:
    path, entries = tmp_path / "log.jsonl", list(whole_job())
    raw = sealed(entries)
    path.write_bytes(raw)
    found = skim(tmp_path, _SAYS_NOTHING)
    assert found is not None
    assert found.lines == len(entries)
    for place in range(raw[:-1].rindex(b"\n") + 1, len(raw) - 1):
        path.write_bytes(raw[:place] + bytes([raw[place] ^ 1]) + raw[place + 1:])
        assert skim(tmp_path, _SAYS_NOTHING) is None, place
    path.write_bytes(sealed(entries, turn_lines=2))  # the last turn lacks a line
    assert skim(tmp_path, _SAYS_NOTHING) is None
