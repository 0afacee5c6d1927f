"""Broken procedures, one planted fault in each: `procedure check` finds it, where it is.

The first line of each file in broken_procedures/ says where its fault lies and what is said of it.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from fieldvoice.__main__ import main
from fieldvoice.commands.wiring.errors import BAD_INPUT, CommandError
from fieldvoice.commands.wiring.find_procedure import load_named

BROKEN = sorted((Path(__file__).parent / "broken_procedures").glob("*.procedure"))


def test_there_are_at_least_thirty_faults_and_no_two_are_alike() -> None:
    told = {path.read_text(encoding="utf-8").split("\n")[0].split(" ", 2)[2] for path in BROKEN}
    assert len(BROKEN) >= 30
    assert len(told) >= len(BROKEN) - 3  # a few are seen in the same way


@pytest.mark.parametrize("path", BROKEN, ids=lambda p: p.stem)
def test_the_fault_is_found_at_its_line_and_column(
    path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    _, place, words = path.read_text(encoding="utf-8").split("\n")[0].split(" ", 2)
    line, column = place.split(":")
    assert main(["procedure", "check", str(path)]) == BAD_INPUT
    found = capsys.readouterr().out.splitlines()
    assert len(found) == 1  # the one that was planted, and none that only follows from it
    assert found[0].startswith(f"{path}: line {line}, column {column}: ")
    assert words in found[0]
    assert "; " in found[0]  # and what to do about it


@pytest.mark.parametrize("path", BROKEN, ids=lambda p: p.stem)
def test_no_job_begins_with_a_broken_procedure(path: Path) -> None:
    with pytest.raises(CommandError, match="line"):
        load_named(path.read_text(encoding="utf-8"), path.name)
