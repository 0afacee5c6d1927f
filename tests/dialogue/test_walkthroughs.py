"""Whole jobs as text: what is said and answered, compared with kept transcripts."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from num2words import num2words

from fieldvoice.procedure.check import MOST_WORDS
from support.transcripts import TRANSCRIPTS, replay


@pytest.mark.parametrize("path", TRANSCRIPTS, ids=lambda p: p.stem)
def test_the_job_reads_as_it_was_kept(path: Path) -> None:
    kept = path.read_text(encoding="utf-8")
    now, bench = replay(kept)
    assert now == kept
    assert bench.state.finished
    assert bench.refolded() == bench.state


@pytest.mark.parametrize("path", TRANSCRIPTS, ids=lambda p: p.stem)
def test_every_line_of_the_walk_was_understood(path: Path) -> None:
    _, bench = replay(path.read_text(encoding="utf-8"))
    outcomes = {v.event.words: v.event.outcome for v in bench.log if v.event.kind == "line-heard"}
    assert set(outcomes.values()) <= {"accepted", "asked-back", "noted"}


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
