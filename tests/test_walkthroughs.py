"""Whole jobs as text: what is said and answered, compared with kept transcripts.

A transcript's first line names the procedure and what the site is; "> " is a line that is said,
"~ " time that passes; the rest is what Fieldvoice answers. After a wanted change of words:
python tests/test_walkthroughs.py
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import pytest
from bench import Bench
from num2words import num2words

from fieldvoice.job.procedure_check import MOST_WORDS, load
from fieldvoice.job.procedure_text import shipped
from fieldvoice.spoken.parser import understand

FOLDER = Path(__file__).parent / "walkthroughs"
TRANSCRIPTS = sorted(FOLDER.glob("*.txt"))


def replay(transcript: str) -> tuple[str, Bench]:
    """Say the transcript's lines again; returns the transcript as it would be now."""
    first, *lines = transcript.splitlines()
    name, *facts = first.removeprefix("# ").split()
    bench = Bench(load(shipped(name)), dict(f.replace("_", " ").split("=") for f in facts))
    found = [first, *_said(bench)]
    for line in lines:
        if line.startswith("> "):
            bench.now += timedelta(seconds=3)
            bench.say(understand(line[2:]), words=line[2:])
            found += [line, *_said(bench)]
        elif line.startswith("~ "):
            found.append(line)
            for _ in range(round(float(line.split()[1]) * 60)):
                bench.wait(seconds=1)
                found += _said(bench)
    return "\n".join(found) + "\n", bench


def _said(bench: Bench) -> Iterator[str]:
    for reply in bench.replies:
        yield f"    {reply.tone}: {reply.spoken or reply.text}"


@pytest.mark.parametrize("path", TRANSCRIPTS, ids=lambda p: p.stem)
def test_the_job_reads_as_it_was_kept(path: Path) -> None:
    kept = path.read_text(encoding="utf-8")
    now, bench = replay(kept)
    assert now == kept
    assert bench.sheet.finished
    assert bench.refolded() == bench.sheet


@pytest.mark.parametrize("path", TRANSCRIPTS, ids=lambda p: p.stem)
def test_every_line_of_the_walk_was_understood(path: Path) -> None:
    _, bench = replay(path.read_text(encoding="utf-8"))
    outcomes = {v.event.words: v.event.outcome for v in bench.log if v.event.kind == "line-heard"}
    assert set(outcomes.values()) <= {"accepted", "asked-back"}


@pytest.mark.parametrize("path", TRANSCRIPTS, ids=lambda p: p.stem)
def test_no_prompt_is_longer_than_twelve_words_as_it_is_spoken(path: Path) -> None:
    for line in path.read_text(encoding="utf-8").splitlines():
        told = line.removeprefix("    prompt: ")
        if told != line and "Job finished." not in told:
            spoken = re.sub(r"[\d,]*\d", lambda n: num2words(int(n[0].replace(",", ""))), told)
            words = spoken.replace("psig", "p s i").replace(" and ", " ").replace("-", " ").split()
            assert len(words) - told.count("-") <= MOST_WORDS, spoken


@pytest.mark.parametrize("path", TRANSCRIPTS, ids=lambda p: p.stem)
def test_nothing_is_said_twice_in_one_breath(path: Path) -> None:
    breath: list[str] = []
    for line in path.read_text(encoding="utf-8").splitlines():
        breath = [*breath, line] if line.startswith("    ") else []
        assert len(breath) == len(set(breath)), line


if __name__ == "__main__":
    for kept_at in TRANSCRIPTS:
        kept_at.write_text(replay(kept_at.read_text(encoding="utf-8"))[0], encoding="utf-8")
