"""The real program on a real terminal: drawn, typed into, resized, stopped, left."""

from __future__ import annotations

import os
import re
import signal
import subprocess
import sys
import time
from collections.abc import Sequence
from pathlib import Path

import pytest

from fieldvoice.devices.joblog import read_log
from fieldvoice.jobstate.events import LineHeard
from support.real_terminal import PATIENCE_S, RealTerminal
from support.small_procedure import TEXT
from support.terminal import stands_large

UP, F3, F4, CTRL_C, CTRL_D, CTRL_Z, ENTER, TAB = (
    "\x1b[A", "\x1bOR", "\x1bOS", "\x03", "\x04", "\x1a", "\r", "\t")


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "small.procedure").write_text(TEXT, encoding="utf-8")
    return tmp_path


def command(folder: Path, *more: str) -> list[str]:
    return [sys.executable, "-m", "fieldvoice", "work", str(folder / "small.procedure"), "--typed",
            "--job", str(folder / "job"), *more]


def terminal(
    folder: Path, *more: str, width: int = 80, height: int = 24, **env: str
) -> RealTerminal:
    return RealTerminal(command(folder, *more), {
        "TERM": "xterm", "LC_ALL": "C.UTF-8", "NO_COLOR": "", **env}, folder, width, height)


def heard(folder: Path) -> list[str]:
    return [entry.event.words for entry in read_log(folder / "job").entries
            if isinstance(entry.event, LineHeard)]


def test_typed_lines_figures_history_completion_and_keys(folder: Path) -> None:
    with terminal(folder) as seen:
        seen.wait_for("CAUTION: Never put oxygen", "-> Say understood.", "NO MICROPHONE")
        seen.type("unders" + TAB + ENTER)
        seen.wait_for("Run the pump and read the gauge.", "[+] taken: understood")
        seen.type("vacuum 900 microns" + ENTER)
        seen.wait_for("900 microns. That is above")
        assert stands_large("900", seen.lines)
        seen.type(UP + UP)
        seen.wait_for("> understood")
        seen.type(UP + "\x15410" + ENTER)
        seen.wait_for("Close the valve at the pump")
        seen.type(F3)
        seen.wait_for("[x] not taken: next")
        seen.type("\x1ba")  # Alt with a, as where there are no F keys
        seen.wait_for("[+] taken: say again")
        seen.type(CTRL_D)
        assert seen.wait() == 0
        assert seen.modes_now == seen.modes
        assert "The job is kept in" in seen.text
    assert heard(folder) == ["understood", "vacuum 900 microns", "410", "next", "say again"]


def test_half_typed_text_outlives_announcements_and_the_countdown(folder: Path) -> None:
    with terminal(folder) as seen:
        seen.wait_for("Say understood.")
        seen.type("start a three second oil timer" + ENTER)
        seen.wait_for("oil")
        seen.type("vacuum 4")
        seen.wait_for("Oil finished", "> vacuum 4")
        seen.type("10" + ENTER)
        seen.wait_for("410")
        seen.type(CTRL_C)
        assert seen.wait() == 130
        assert seen.modes_now == seen.modes
        assert "Go on with: fieldvoice work" in seen.text
    assert heard(folder)[-1] == "vacuum 410"


def test_another_size_while_it_runs_cuts_no_figure(folder: Path) -> None:
    with terminal(folder) as seen:
        seen.wait_for("Say understood.")
        for line in ("understood", "vacuum 410", "start the hold", "412"):
            seen.type(line + ENTER)
            seen.wait_for(f"taken: {line}")
        for width, height in ((40, 20), (120, 40), (20, 6), (200, 60), (80, 24)):
            seen.resize(width, height)
            os.killpg(seen.process.pid, signal.SIGWINCH)
            until = time.monotonic() + PATIENCE_S
            while not _whole(seen.lines, height):
                assert time.monotonic() < until, seen.text


def _whole(lines: list[str], height: int) -> bool:
    """The figure, a countdown that can be read, in any of the forms, and the typed line."""
    digits = "0123456789"
    clocks = [f"9:{a}{b}" for a in "543" for b in digits]
    plain = re.search(r"hold 9:\d\d left", "\n".join(lines)) is not None
    large = any(stands_large(clock, lines) for clock in clocks)
    shown = stands_large("412", lines) or "microns: 412" in "\n".join(lines)
    return len(lines) == height and shown and (plain or large) and lines[-1].startswith(">")


def test_after_a_stop_and_fg_the_screen_and_the_typed_line_are_back(folder: Path) -> None:
    env = {"TERM": "xterm", "LC_ALL": "C.UTF-8", "PS1": "shell$ "}
    with RealTerminal(["bash", "--norc", "--noprofile", "-i"], env, folder) as seen:
        seen.wait_for("shell$")
        seen.type(" ".join(command(folder)) + ENTER)
        seen.wait_for("Say understood.")
        seen.type("underst" + CTRL_Z)
        seen.wait_for("Stopped")
        seen.type("fg" + ENTER)
        seen.wait_for("Say understood.", "> underst")
        seen.type("ood" + ENTER)
        seen.wait_for("[+] taken: understood")
        log = folder / "job"
        pid = subprocess.run(["pgrep", "-f", str(log)], capture_output=True, text=True, check=True)
        os.kill(int(pid.stdout.split()[0]), signal.SIGSTOP)  # from outside, unannounced
        seen.wait_for("Stopped")
        seen.type("fg" + ENTER)
        seen.wait_for("Run the pump", "NO MICROPHONE")
        time.sleep(0.5)  # a shell may set the modes a moment after it lets the program go on
        seen.type("vacuum 900" + ENTER)
        seen.wait_for("[+] taken: vacuum 900")


def test_a_program_that_is_ended_gives_the_terminal_back(folder: Path) -> None:
    with terminal(folder) as seen:
        seen.wait_for("Say understood.")
        seen.process.send_signal(signal.SIGTERM)
        assert seen.wait() == 128 + signal.SIGTERM
        assert seen.modes_now == seen.modes
        assert b"\x1b[?1049l" in seen.raw


def test_the_talk_is_turned_back_and_comes_again(folder: Path) -> None:
    with terminal(folder, width=40, height=20) as seen:
        seen.wait_for("Say understood.")
        for line in ("understood", "vacuum 900", "vacuum 800", "vacuum 700", "vacuum 600"):
            seen.type(line + ENTER)
            seen.wait_for(f"taken: {line}")
        seen.type("\x1b[5~")
        seen.wait_for("Talk so far, 1 back")
        seen.type("\x1b[6~")
        seen.wait_for("taken: vacuum 600")


def test_colour_is_refused_by_no_color_and_ascii_locales_get_ascii(folder: Path) -> None:
    with terminal(folder, NO_COLOR="1", LC_ALL="C") as seen:
        seen.wait_for("Say understood.")
        for line in ("understood", "vacuum 410"):
            seen.type(line + ENTER)
            seen.wait_for(f"taken: {line}")
        assert stands_large("410", seen.lines)
        assert seen.text.isascii()
        seen.type(CTRL_C)
        seen.wait()
        assert not re.search(rb"\x1b\[[\d;]*\b(3[0-7]|9[0-7]|38|48)[;m]", seen.raw)
        assert b"\xe2" not in seen.raw  # no block characters


@pytest.mark.parametrize(("env", "more"), [({"TERM": "dumb"}, []), ({}, ["--lines"])])
def test_plain_lines_have_nothing_that_moves_a_cursor(
    folder: Path, env: dict[str, str], more: list[str]
) -> None:
    with terminal(folder, *more, **env) as seen:
        seen.wait_for("Say understood.")
        seen.type("understood\n")
        seen.wait_for("> Run the pump")
        seen.type("\x04")
        assert seen.wait() == 0
        assert b"\x1b" not in seen.raw


EVIL = "\x1b]0;owned\x07\x1b[2J\u202eend"


def test_nothing_hostile_reaches_the_terminal(folder: Path) -> None:
    procedure = folder / "small.procedure"
    procedure.write_text(TEXT.replace("Run the pump", f"Run {EVIL} it"), encoding="utf-8")
    with terminal(folder) as seen:
        seen.wait_for("a character that cannot be seen")
        assert seen.wait() == 2
        assert b"\x1b" not in seen.raw
    procedure.write_text(TEXT, encoding="utf-8")
    with terminal(folder) as seen:
        seen.wait_for("Say understood.")
        seen.type("understood" + ENTER)
        seen.wait_for("taken: understood")
        seen.type("take a note" + ENTER)
        seen.wait_for("NOTING")
        # a paste, as terminals bracket it: control characters come through whole
        seen.type(f"\x1b[200~the {EVIL} flare\x1b[201~")
        seen.wait_for("> the ?]0;owned??[2J?end flare")
        seen.type(ENTER)
        seen.type("end note" + ENTER)
        seen.wait_for("taken: end note")
        seen.type("x" * 3_000 + ENTER)
        seen.wait_for("I did not understand")
        seen.type(CTRL_C)
        assert seen.wait() == 130
        assert b"\x1b]0;owned" not in seen.raw
        assert "\u202e".encode() not in seen.raw


@pytest.mark.parametrize(
    ("shell", "env", "code"),
    [
        ("{} <&-", {}, 0),
        ("{} <&- >&- 2>&-", {}, 1),  # like other programs, it fails where it can write nothing
        ("echo understood | {}", {"PYTHONIOENCODING": "ascii"}, 0),
        ("printf 'understood\\n410 um\\n\\377\\376 \\xc2\\xbd\\n' | {}", {}, 0),
        ("echo understood | {} >&-", {}, 1),
        ("echo understood | {} --lines", {"LC_ALL": "C", "PYTHONUTF8": "0"}, 0),
        ("sleep 0 | {} | head -c 20", {}, 0),
        ("{} < /dev/null 2>&-", {}, 0),
    ],
)
def test_closed_and_strange_streams_end_cleanly_with_the_job_kept(
    folder: Path, shell: str, env: dict[str, str], code: int
) -> None:
    done = _run(["bash", "-c", shell.format(" ".join(command(folder)))], env, folder)
    assert done.returncode == code, done.stderr
    assert b"Traceback" not in done.stdout + done.stderr
    assert b"\x1b" not in done.stdout
    assert read_log(folder / "job").entries
    if "understood" in shell and not code:
        assert heard(folder)[0] == "understood"


def _run(
    line: Sequence[str], env: dict[str, str], folder: Path
) -> subprocess.CompletedProcess[bytes]:
    return subprocess.run(line, capture_output=True, timeout=PATIENCE_S, check=False,
                          cwd=folder, env={**os.environ, **env})  # fmt: skip
