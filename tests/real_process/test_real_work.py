"""The bench on which the real program works says what it waited for in vain, and what came."""

from pathlib import Path

import pytest

from support import real_work
from support.real_work import RealWork


def test_what_does_not_come_is_named_with_what_came(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with RealWork(tmp_path) as work:
        work.until(kind="job-started")
        monkeypatch.setattr(real_work, "PATIENCE_S", 0.1)
        with pytest.raises(AssertionError, match=r"with .*'never'.* came in 0\.1 s; .*step-opened"):
            work.until(kind="never")
        with pytest.raises(AssertionError, match=r"contains .*'no such words'.* came in 0\.1 s"):
            work.replied("no such words")
        monkeypatch.undo()
        work.end()
        with pytest.raises(AssertionError, match=r"'never'.* came before the end"):
            work.until(kind="never")
