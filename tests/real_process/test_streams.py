"""Every command with standard streams as they may come: no hang, no traceback, the log whole."""

import contextlib
import json
import os
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from fieldvoice.devices.joblog import read_log
from fieldvoice.jobstate.events import LineHeard
from support.small_procedure import TEXT
from support.wav_file import write_wav

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="streams as a POSIX shell has them")
WORK = "work small.procedure --typed --job JOB"
LINES = "understood\n410 microns\nwhat now\n"
COMMANDS = {
    "work": WORK,
    "work --json": f"{WORK} --json",
    "work --practice": f"{WORK} --practice",
    "work --facts": "work small.procedure --facts",
    "jobs": "jobs",
    "jobs --json": "jobs --json",
    "report": "report old --into out",
    "parse": "parse vacuum 412 microns",
    "procedure show": "procedure show small.procedure",
    "procedure check": "procedure check small.procedure",
    "say-what": "say-what",
    "completion": "completion bash",
    "work-out": "work-out saturation R-410A --at 120psig",
    "hear": "hear silence.wav",
    "doctor": "doctor --quick",
    "help": "--help",
    "help of a command": "jobs --help",
    "wrong usage": "jobs --nonsense",
}
USUAL = ("work", "work --json", "jobs", "report", "parse", "wrong usage")  # one of each sort:
ALL_ON = ("stdout full", "ascii")  # all of them on everything take minutes
STREAMS = {  # what the shell adds, and whether standard output is written in the end
    "all open": ("", True),
    "stdin closed": ("<&-", True),
    "stdout closed": (">&-", False),
    "stderr closed": ("2>&-", True),
    "all closed": ("<&- >&- 2>&-", False),
    "stdout full": (">/dev/full", False),
    "read by nobody": ("| true", None),
    "read for a line": ("| head -1", None),
}
LOCALES = {
    "ascii": {"LC_ALL": "C", "PYTHONIOENCODING": "ascii", "PYTHONUTF8": "0"},
    "no terminal": {"TERM": ""},
    "dumb": {"TERM": "dumb"},
    "unknown terminal": {"TERM": "never-heard-of"},
}
WRONG = {"wrong usage": 2, "doctor": None}  # what is expected where all streams are open


@pytest.fixture(scope="session")
def worked(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with a job that is kept."""
    folder = tmp_path_factory.mktemp("worked")
    (folder / "small.procedure").write_text(TEXT, encoding="utf-8")
    write_wav(folder / "silence.wav", np.zeros(1_600, np.int16))
    _shell(folder, f"printf '{LINES}' | FIELDVOICE work small.procedure --typed --job old")
    return folder


@pytest.fixture
def place(worked: Path, tmp_path: Path) -> Path:
    return Path(shutil.copytree(worked, tmp_path / "place"))


def _environment(folder: Path, more: dict[str, str]) -> dict[str, str]:
    kept = {k: v for k, v in os.environ.items() if k not in ("LC_ALL", "LANG", "PYTHONUTF8")}
    return {**kept, "XDG_DATA_HOME": str(folder / "data"), "HOME": str(folder), **more}


def _shell(
    folder: Path, command: str, more: dict[str, str] | None = None
) -> subprocess.CompletedProcess[bytes]:
    """Run a line of bash in which FIELDVOICE is the program; fails when it hangs."""
    program = f"{sys.executable} -m fieldvoice"
    return subprocess.run(
        ["bash", "-c", command.replace("FIELDVOICE", program)], cwd=folder, timeout=300,
        env=_environment(folder, more or {}), stdin=subprocess.DEVNULL, capture_output=True,
    )  # fmt: skip


def _logs_are_whole(folder: Path) -> None:
    for log in (folder / "data" / "fieldvoice" / "jobs").glob("*/log.jsonl"):
        found = read_log(log.parent)
        assert found.notices == ()
        assert log.read_bytes().count(b"\n") == len(found.entries) > 0


def _commands(how: str) -> list[tuple[str, str]]:
    names = COMMANDS if how in ALL_ON else USUAL
    return [(name, COMMANDS[name]) for name in names]


@pytest.mark.parametrize("streams", STREAMS)
def test_no_command_hangs_or_breaks_on_its_streams(streams: str, place: Path) -> None:
    added, written = STREAMS[streams]
    for name, command in _commands(streams):
        line = f"FIELDVOICE {command.replace('JOB', name.replace(' ', ''))} {added}"
        fed = f"printf '{LINES}' | {line}" if "<&-" not in added else line
        ran = _shell(place, f"{fed}; echo ${{PIPESTATUS[{int('<&-' not in added)}]}} > code")
        told, code = ran.stderr.decode(), int((place / "code").read_text())
        assert "Traceback" not in told, (name, told)
        assert "Exception ignored" not in told, (name, told)
        right = WRONG.get(name, 0)
        if written and right is not None:
            assert code == right, (name, told)
        elif written is False and name not in WRONG:
            assert code == 1, (name, code, told)
            assert "2>&-" in added or "cannot" in told, (name, told)
        else:
            assert code in (0, 1, 2), (name, told)
    _logs_are_whole(place)


@pytest.mark.parametrize("locale", LOCALES)
def test_no_command_breaks_on_its_locale_or_terminal(locale: str, place: Path) -> None:
    for name, command in _commands(locale):
        job = f"{name.replace(' ', '')}é"
        ran = _shell(place, f"printf '{LINES}' | FIELDVOICE {command.replace('JOB', job)}",
                     LOCALES[locale])
        assert b"Traceback" not in ran.stderr, (name, ran.stderr)
        assert b"\x1b" not in ran.stdout + ran.stderr, name
        right = WRONG.get(name, 0)
        assert right is None or ran.returncode == right, (name, ran.stderr)
    _logs_are_whole(place)


@pytest.fixture
def working(place: Path) -> Iterator[subprocess.Popen[str]]:
    """A job at work through pipes."""
    process = subprocess.Popen(
        [sys.executable, "-m", "fieldvoice", *WORK.replace("JOB", "live").split()], cwd=place,
        env=_environment(place, {}), stdin=subprocess.PIPE, stdout=subprocess.PIPE,
        stderr=subprocess.PIPE, text=True, bufsize=1,
    )  # fmt: skip
    yield process
    process.kill()
    process.wait()
    for stream in (process.stdin, process.stdout, process.stderr):
        if stream is not None:
            with contextlib.suppress(OSError):  # what was not read by a process that is gone
                stream.close()


def _say(process: subprocess.Popen[str], line: str) -> None:
    assert process.stdin is not None
    process.stdin.write(f"{line}\n")


def _read_until(process: subprocess.Popen[str], words: str) -> None:
    assert process.stdout is not None
    for line in process.stdout:
        if words in line:
            return
    raise AssertionError(f"{words!r} was never said")


def test_a_reader_that_dies_midway_leaves_a_whole_log(
    working: subprocess.Popen[str], place: Path
) -> None:
    _say(working, "understood")
    _read_until(working, "heard understood")
    assert working.stdout is not None
    working.stdout.close()
    _say(working, "410 microns")
    time.sleep(0.5)
    assert working.wait(timeout=60) == 0
    assert working.stderr is not None
    told = working.stderr.read()
    assert "nobody reads on, so the work stops; all that was logged is kept in" in told
    assert "Traceback" not in told
    _logs_are_whole(place)
    heard = [entry.event.words for entry in
             read_log(place / "data" / "fieldvoice" / "jobs" / "live").entries
             if isinstance(entry.event, LineHeard)]
    assert heard[0] == "understood"  # the next line may come after the reader was missed


def test_a_job_that_is_stopped_and_continued_goes_on(
    working: subprocess.Popen[str], place: Path
) -> None:
    _say(working, "understood")
    _read_until(working, "heard understood")
    os.kill(working.pid, signal.SIGSTOP)  # Ctrl-Z sends SIGTSTP, which a test's group would ignore
    _say(working, "410 microns")
    time.sleep(0.3)
    os.kill(working.pid, signal.SIGCONT)
    _read_until(working, "heard 410 microns")
    assert working.stdin is not None
    working.stdin.close()
    assert working.wait(timeout=60) == 0
    _logs_are_whole(place)


def test_json_lines_are_the_same_in_every_locale(place: Path) -> None:
    outputs = [_shell(place, 'FIELDVOICE parse --json "note: très bien"', more).stdout
               for more in ({}, LOCALES["ascii"])]
    assert [json.loads(out)["text"] for out in outputs] == ["très bien"] * 2
