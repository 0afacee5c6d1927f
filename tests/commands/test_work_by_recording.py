"""Work with a sound file as the microphone: the real program, without a sound server."""

import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from fieldvoice.__main__ import main
from support import sounds
from support.live_program import live_program
from support.wav_file import write_wav

NO_SERVER = {"PULSE_SERVER": "unix:/nonexistent"}


def test_a_recording_is_heard_in_real_time_and_typed_lines_go_on(tmp_path: Path) -> None:
    write_wav(tmp_path / "job.wav", np.concatenate([
        sounds.silence(3), sounds.line("bakery-unit-two/next-1"), sounds.silence(2),
        sounds.line("bakery-unit-two/understood-1")]))  # fmt: skip
    with live_program(tmp_path, NO_SERVER, "--microphone", "job.wav") as program:
        program.wait_for("The recording has ended.")
        assert program.wait_heard(2) == ["next", "understood"]
        program.type("where are we")
        program.wait_for("step power off")
    clips = sorted(path.name for path in (program.folder / "clips").iterdir())
    assert len(clips) == 2


def test_a_pipe_on_standard_input_is_heard_to_its_end(tmp_path: Path) -> None:
    sound = np.concatenate([sounds.silence(2), sounds.line("bakery-unit-two/next-1")])
    run = subprocess.run(
        [sys.executable, "-m", "fieldvoice", "work", "evacuate-and-release", "--job",
         str(tmp_path / "job"), "--microphone", "-"],
        input=sound.astype("<i2").tobytes(), capture_output=True, timeout=120, cwd=tmp_path,
    )  # fmt: skip
    assert run.returncode == 0, run.stderr.decode()
    assert b"heard next" in run.stdout
    assert b"The recording has ended." in run.stdout
    assert b"Traceback" not in run.stdout + run.stderr


@pytest.mark.parametrize(("options", "told"), [
    (["--microphone", "missing.wav"], "cannot read missing.wav"),
    (["--microphone", "x.wav", "--typed"], "with --typed nothing is listened to"),
    (["--push-to-talk", "--practice"], "with --practice nothing is listened to"),
    (["--microphone", " "], "needs a name"),
])  # fmt: skip
def test_a_microphone_that_cannot_be_meant_is_refused_before_a_job_is_begun(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], options: list[str], told: str
) -> None:
    job = tmp_path / "job"
    assert main(["work", "evacuate-and-release", "--job", str(job), *options]) == 2
    assert told in capsys.readouterr().err
    assert not job.exists()
