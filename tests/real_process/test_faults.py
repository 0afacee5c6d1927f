"""The fault campaign, a part of it: nothing acknowledged is lost, everything else is detected."""

from pathlib import Path

import pytest

from by_hand.fault_campaign import campaign


def test_what_was_acknowledged_is_kept_and_what_was_altered_is_detected(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    figures = campaign(tmp_path, seed=5, offsets=60, flips=30)
    assert figures.misses == []
    assert (figures.lost, figures.tracebacks) == (0, 0)
    assert figures.offsets == 60
    assert figures.detected == figures.done > 500
