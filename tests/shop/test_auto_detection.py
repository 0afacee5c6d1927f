"""DuckDB reads every job's log by itself: each recorded demo job, worked by its texts."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import duckdb
import pytest

from fieldvoice.__main__ import main
from fieldvoice.commands.wiring.recorded_jobs import read_job, shipped_jobs

READ = "read_json(?, map_inference_threshold=-1, sample_size=-1)"


def worked(folder: Path, to: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The lines of a recorded job typed in practice."""
    job = read_job(folder)
    lines = []
    for line in job.lines:
        lines.append(f"+{max(1, line.gap // timedelta(seconds=1))}s")
        lines.append(line.text or line.typed)
    text = to / f"{folder.name}.txt"
    text.write_text("\n".join(line for line in lines if line) + "\n", encoding="utf-8")
    site = [part for name, value in job.site.items() for part in ("--site", f"{name}={value}")]
    with text.open(encoding="utf-8") as typed:
        monkeypatch.setattr("sys.stdin", typed)
        main(["work", job.procedure, "--job", folder.name, "--practice", *site])
    return to / "data" / "fieldvoice" / "jobs" / folder.name / "log.jsonl"


@pytest.mark.parametrize("folder", shipped_jobs(), ids=lambda folder: folder.name)
def test_no_column_of_a_recorded_job_is_json(
    folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    log = worked(folder, tmp_path, monkeypatch)
    lines = log.read_bytes().count(b"\n")
    assert lines > 100
    [(shape, number)] = duckdb.execute(
        f"select typeof(data), count(*) from {READ} group by 1", [str(log)]).fetchall()
    assert number == lines
    assert "JSON" not in shape
    assert "MAP" not in shape
    [(readings, numbers)] = duckdb.execute(
        f"select count(*), count(data.number) from {READ} where kind = 'reading-taken'",
        [str(log)]).fetchall()
    assert readings == numbers > 0
    [(job, place), *_] = duckdb.execute(
        f"select data.job, list_filter(data.site, lambda r: r.name = 'technician') from {READ} "
        "where kind = 'job-started'", [str(log)]).fetchall()
    assert job == folder.name
    assert place is not None
