"""Completion: real shells run the script that is printed, and the program answers them."""

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from fieldvoice.__main__ import main
from fieldvoice.devices.joblog import JobLog, job_folder
from fieldvoice.procedure.reader import shipped_names

LINES = [
    ("fieldvoice de", ["demo"]),
    ("fieldvoice hear --js", ["--json"]),
    ("fieldvoice report unit", ["unit-12b"]),
    ("fieldvoice work small.procedure --job unit", ["unit-12b"]),
    ("fieldvoice work evacuate-and-h", ["evacuate-and-hold"]),
    ("fieldvoice procedure sh", ["show"]),
    ("fieldvoice procedure show --s", ["--sheet"]),
    ("fieldvoice procedure check small", ["small.procedure"]),
    ("fieldvoice completion z", ["zsh"]),
    ("fieldvoice nonsense --j", []),
]
ASK = {
    "bash": 'COMP_LINE="{line}"; COMP_POINT={point}; COMP_TYPE=9; _python_argcomplete fieldvoice; '
            'printf "%s\\n" "${{COMPREPLY[@]}}"',
    "zsh": 'words=({line}); BUFFER="{line}"; CURSOR={point}; _python_argcomplete',
    "fish": 'complete -C "{line}"',
}  # fmt: skip
STAND_INS = """
# for the parts of zsh that need a terminal
autoload() { builtin autoload -Uz is-at-least }
compinit() { : }
compdef() { : }
_describe() { print -l -- ${(P)2} }
"""


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with a procedure, a job, and the program on the path."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    monkeypatch.setenv("PATH", f"{tmp_path / 'bin'}:{os.environ['PATH']}")
    monkeypatch.chdir(tmp_path)
    JobLog.create(job_folder("unit-12b"), "").close()
    (tmp_path / "small.procedure").touch()
    (tmp_path / "bin").mkdir()
    program = tmp_path / "bin" / "fieldvoice"
    program.write_text(f'#!/bin/sh\nexec {sys.executable} -m fieldvoice "$@"\n')
    program.chmod(0o755)
    return tmp_path


def offered(shell: str, line: str, capsys: pytest.CaptureFixture[str]) -> list[str]:
    """What a shell is told may stand at the end of the line."""
    if shutil.which(shell) is None:
        pytest.skip(f"{shell} is not installed")
    assert main(["completion", shell]) == 0
    ask = ASK[shell].format(line=line, point=len(line))
    first = STAND_INS if shell == "zsh" else ""
    script = f"{first}\n{capsys.readouterr().out}\n{ask}"
    run = subprocess.run([shell, "-c", script], check=True, text=True, capture_output=True)
    assert run.stderr == ""
    words = [told.split("\t")[0].split(":")[0].strip() for told in run.stdout.splitlines()]
    return [word for word in words if word]


@pytest.mark.usefixtures("home")
@pytest.mark.parametrize("shell", ASK)
@pytest.mark.parametrize(("line", "expected"), LINES)
def test_a_line_is_completed(
    shell: str, line: str, expected: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert offered(shell, line, capsys) == expected


@pytest.mark.usefixtures("home")
def test_every_procedure_that_comes_along_is_offered(capsys: pytest.CaptureFixture[str]) -> None:
    assert set(shipped_names()) <= set(offered("bash", "fieldvoice procedure show ", capsys))


@pytest.mark.usefixtures("home")
def test_only_the_command_in_the_line_is_loaded(tmp_path: Path) -> None:
    script = (
        "import os, sys\n"
        "real = os._exit\n"
        "def leave(code):\n"
        "    print(*(name for name in sys.modules if name.startswith('fieldvoice.commands.')))\n"
        "    sys.stdout.flush(); real(code)\n"
        "os._exit = leave\n"
        "import fieldvoice.__main__ as m\n"
        "m.main([])\n"
    )
    line = "fieldvoice jobs --"
    run = subprocess.run(
        [sys.executable, "-c", script], check=True, text=True, capture_output=True,
        env={**os.environ, "_ARGCOMPLETE": "1", "COMP_LINE": line, "COMP_POINT": str(len(line)),
             "_ARGCOMPLETE_STDOUT_FILENAME": str(tmp_path / "told")},
    )  # fmt: skip
    shared = ("wiring", "rim")  # what every command needs
    loaded = {name for name in run.stdout.split() if not any(room in name for room in shared)}
    assert loaded == {"fieldvoice.commands.jobs"}
    assert (tmp_path / "told").read_text(encoding="utf-8").split("\v") == [
        "--help", "--only", "--verdict", "--since", "--until", "--json"]
