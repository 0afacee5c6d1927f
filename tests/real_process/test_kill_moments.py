"""kill -9 at random moments, for real: nothing acknowledged is lost, timers are right."""

from pathlib import Path

from by_hand.kill_moments import kill_moments


def test_killed_at_any_moment_a_job_loses_nothing_that_was_acknowledged(tmp_path: Path) -> None:
    figures = kill_moments(8, tmp_path, seed=5)
    assert figures.wrong == []
    assert figures.kills == 8
    assert figures.events > 20
    assert figures.replies > 10
    assert figures.drift_s < 1.0
