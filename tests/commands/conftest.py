"""What several tests of commands stand on."""

import io
from collections.abc import Callable
from pathlib import Path

import pytest

from fieldvoice.__main__ import main
from support.small_procedure import TEXT


@pytest.fixture
def typed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Callable[..., int]:
    """Works the small procedure with typed lines, in a data folder of its own."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    monkeypatch.chdir(tmp_path)
    (tmp_path / "small.procedure").write_text(TEXT, encoding="utf-8")

    def work(job: str, lines: str, *arguments: str) -> int:
        monkeypatch.setattr("sys.stdin", io.StringIO(lines))
        return main(["work", "small.procedure", "--job", job, *arguments])

    return work
