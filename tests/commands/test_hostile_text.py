"""Whatever names, notes, reasons, logs and procedures hold, no command lets it steer a terminal."""

import ast
import io
from pathlib import Path

import numpy as np
import pytest

import fieldvoice.commands
from fieldvoice.__main__ import main
from fieldvoice.commands.rim.telling import safe
from fieldvoice.devices.joblog import job_folder
from support.small_procedure import TEXT
from support.wav_file import write_wav

Capture = pytest.CaptureFixture[str]
RED, CSI, BIDI, TITLE = "\x1b[31m", "\x9b31m", "\u202e", "\x1b]0;owned\x07"
HOSTILE = f"a{RED}b{CSI}c{BIDI}d{TITLE}e"
SEEN = set("\n")


def steers(text: str) -> list[str]:
    """What of a text is not seen but acted on."""
    return [c for c in text if not (c.isprintable() or c in SEEN)]


@pytest.fixture
def hostile_place(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    monkeypatch.chdir(tmp_path)
    title = TEXT.split("\n", 1)[0]
    (tmp_path / f"{HOSTILE}.procedure").write_text(TEXT.replace(title, f"{title} # {HOSTILE}"))
    (tmp_path / "small.procedure").write_text(TEXT)
    write_wav(tmp_path / f"{HOSTILE}.wav", np.zeros(1_600, np.int16))
    (tmp_path / f"broken{HOSTILE}.wav").write_bytes(b"x")
    lines = (f"understood\nnote: {HOSTILE}\nskip\n{HOSTILE}\nskip\nbecause {HOSTILE}\n{HOSTILE}\n"
             f"customer is {HOSTILE}\n410 {HOSTILE}\n")
    monkeypatch.setattr("sys.stdin", io.StringIO(lines))
    main(["work", "small.procedure", "--typed", "--job", HOSTILE])
    log = job_folder(HOSTILE) / "log.jsonl"
    other = job_folder(f"{HOSTILE}2")
    other.mkdir(parents=True)
    told = '"outcome": "accepted"'
    text = log.read_text("utf-8")
    assert told in text
    (other / "log.jsonl").write_text(  # a foreign log: its chain is broken, its names are hostile
        text.replace('"procedure": "small"', '"procedure": "sm\\u001b[31mall"'), "utf-8")
    (other / "procedure.txt").write_text(TEXT, "utf-8")
    torn = job_folder(f"{HOSTILE}3")
    torn.mkdir()
    (torn / "log.jsonl").write_bytes(b'{"v": 1, "kind": "\\u001b[31m\x1b[31m"}\n')
    return tmp_path


COMMANDS = [
    ["jobs"], ["jobs", "--json"],
    ["report", HOSTILE], ["report", f"{HOSTILE}2"], ["report", f"{HOSTILE}3"],
    ["report", f"no{HOSTILE}"], ["report", HOSTILE, "--into", HOSTILE],
    ["parse", HOSTILE], ["parse", "--json", HOSTILE], ["parse", "next", "--expect", HOSTILE],
    ["parse", f"note: {HOSTILE}"],
    ["procedure", "check", f"{HOSTILE}.procedure"], ["procedure", "show", f"{HOSTILE}.procedure"],
    ["procedure", "show", "--text", f"{HOSTILE}.procedure"],
    ["procedure", "show", HOSTILE],
    ["procedure", "show", "small.procedure", "--drawing", f"none/{HOSTILE}.svg"],
    ["hear", f"{HOSTILE}.wav", f"broken{HOSTILE}.wav", HOSTILE],
    ["hear", "--json", f"{HOSTILE}.wav"], ["hear", "x", "--model", HOSTILE],
    ["demo", "--recordings", HOSTILE], ["say-what", HOSTILE], ["completion", HOSTILE],
    ["work", "small.procedure", "--job", HOSTILE], ["work", f"{HOSTILE}.procedure"],
    ["work", "small.procedure", "--job", f"{HOSTILE}2", "--typed"],
    ["work", "small.procedure", "--job", f"{HOSTILE}3", "--typed"],
    ["work", "small.procedure", "--job", HOSTILE, "--practice"],
    ["work", "small.procedure", "--job", "n", "--site", HOSTILE],
    ["work", "small.procedure", "--job", "n", "--site", f"{HOSTILE}=1"],
    ["work", "small.procedure", "--job", "n", "--site", f"altitude={HOSTILE}"],
    ["work", "small.procedure", "--job", HOSTILE, "--json", "--site", f"customer={HOSTILE}"],
    ["work-out", HOSTILE], ["work-out", "saturation", HOSTILE, "--at", "120psig"],
    ["work-out", "saturation", "R-410A", "--at", HOSTILE], [HOSTILE], ["jobs", HOSTILE],
]  # fmt: skip


@pytest.mark.parametrize(
    "command", COMMANDS, ids=[" ".join(c).replace(HOSTILE, "HOSTILE") for c in COMMANDS]
)
def test_no_command_prints_what_steers_a_terminal(
    command: list[str], hostile_place: Path, capfd: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    capfd.readouterr()
    monkeypatch.setattr("sys.stdin", io.StringIO("what now\nwhere are we\nsay again\nhistory\n"))
    main(command)
    told = capfd.readouterr()
    assert told.out + told.err
    assert steers(told.out) == []
    assert steers(told.err) == []


def test_the_sweep_notices_a_command_that_prints_raw() -> None:
    assert steers(f"job {HOSTILE}") == list("\x1b\x9b\u202e\x1b\x07")
    assert steers(safe(HOSTILE)) == []


def _bare_prints(source: str) -> list[int]:
    return [node.lineno for node in ast.walk(ast.parse(source))
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name)
            and node.func.id == "print"]


ALLOWED = {  # file -> how many prints stand there, and why none of them is foreign text
    "rim/telling.py": 2,  # the guard itself
    "completion.py": 1,  # a script of argcomplete's
    "procedure.py": 1,  # the text of a procedure, to be copied; find_text refuses what is not seen
    "wiring/replay_printer.py": 1,  # a heading in bold, its text made safe
}


def test_commands_print_through_the_guard_alone() -> None:
    room = Path(fieldvoice.commands.__path__[0])
    found = {path.relative_to(room).as_posix(): len(lines) for path in sorted(room.rglob("*.py"))
             if (lines := _bare_prints(path.read_text("utf-8")))}
    assert found == ALLOWED
