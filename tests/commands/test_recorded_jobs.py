"""What a recorded job is written as: a wrong type is named with its place."""

from pathlib import Path

import pytest

from fieldvoice.commands.wiring.errors import CommandError
from fieldvoice.commands.wiring.recorded_jobs import read_job

HEAD = 'title = "x"\nprocedure = "evacuate-and-hold"\n'


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ('[[line]]\ntyped = "next"\n[[line]]\nat = 5\n', "line table 2: write at as text"),
        ("[[line]]\ntyped = 412\n", "line table 1: write typed as text in quotes, not 412"),
        ("[[line]]\nfile = []\n", "line table 1: write file as text"),
        ("line = 5\n", r"begin each line with \[\[line\]\]"),
        ("line = [5]\n", r"begin each line with \[\[line\]\]"),
        ("line = []\nsite = 5\n", r"under \[site\]"),
    ],
)
def test_a_wrong_type_is_refused_with_its_place(tmp_path: Path, text: str, why: str) -> None:
    (tmp_path / "job.toml").write_text(HEAD + text, encoding="utf-8")
    with pytest.raises(CommandError, match=f"job.toml.*{why}"):
        read_job(tmp_path)
