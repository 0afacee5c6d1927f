"""A recording as a job with the model that is shipped: two sounds of a demo job, minutes apart."""

from __future__ import annotations

import json
from datetime import datetime, timedelta
from pathlib import Path

import numpy as np
import pytest

from fieldvoice.__main__ import main
from fieldvoice.commands.wiring.recorded_jobs import read_job, shipped_jobs
from fieldvoice.devices.joblog import read_log, verify
from fieldvoice.devices.soundfile import RATE, read_sound
from fieldvoice.jobstate import events as e
from support.wav_file import write_wav

BEGAN = datetime.fromisoformat("2024-03-02T09:14:00-05:00")
PAUSE, QUIET = 20, 10  # seconds before a sound; the loudest sample of the background
# words have ended once silence follows them, of which the sound's own end may hold enough
LATEST = timedelta(seconds=2)


def test_two_sounds_become_lines_at_their_times_and_their_deeds(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    job = next(read_job(folder) for folder in shipped_jobs() if folder.name == "bakery-unit-two")
    said = job.lines[:2]  # what that job began with
    noise = np.random.default_rng(18).integers(-QUIET, QUIET, PAUSE * RATE, dtype=np.int16)
    parts, spans = [], []
    for line in said:
        assert line.sound is not None
        sound = read_sound(line.sound)
        parts += [noise, sound]
        end = timedelta(seconds=sum(map(len, parts)) / RATE)
        spans.append((BEGAN + end - timedelta(seconds=len(sound) / RATE), BEGAN + end))
    write_wav(tmp_path / "site.wav", np.concatenate([*parts, noise]))
    assert main(["hear", str(tmp_path / "site.wav"), "--job", "visit", "--procedure",
                 "evacuate-and-release", "--began", BEGAN.isoformat()]) == 0
    assert "Lines:  2 accepted" in capsys.readouterr().out
    folder = tmp_path / "data" / "fieldvoice" / "jobs" / "visit"
    heard = [(v.at, v.event) for v in read_log(folder).entries if isinstance(v.event, e.LineHeard)]
    assert [event.words for _, event in heard] == [line.text for line in said] == [
        "next", "understood"]
    for (at, event), (begin, end) in zip(heard, spans, strict=True):
        assert begin < at <= end + LATEST, event.words
        assert event.speech_db is not None
        assert event.noise_db is not None
        assert event.speech_db > event.noise_db + 20
    found = verify(folder)
    assert (found.intact, found.sealed, found.faults) == (True, "sealed", ())
    assert main(["shop", str(folder.parent), "--figure", "jobs", "--json"]) == 0
    row = json.loads(capsys.readouterr().out)
    assert (row["job"], row["began"]) == ("visit", "2024-03-02T09:14:00")
