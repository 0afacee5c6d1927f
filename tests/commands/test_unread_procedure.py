"""A procedure that cannot be read while work goes on: that unit is not begun, all else goes on."""

import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from fieldvoice.commands.wiring import find_procedure
from fieldvoice.commands.wiring.errors import CommandError
from fieldvoice.devices.joblog import job_folder, read_log, read_procedures, verify
from fieldvoice.jobstate.events import LineHeard, ReadingTaken

Capture = pytest.CaptureFixture[str]
Patch = pytest.MonkeyPatch
Typed = Callable[..., int]
NEVER_ENDS = Path("/proc/self/mem")  # a file that everybody sees and nobody reads from its start


@contextmanager
def no_more_files() -> Iterator[None]:
    """The process can open no file, for real."""
    resource = pytest.importorskip("resource")
    soft, hard = resource.getrlimit(resource.RLIMIT_NOFILE)
    free = os.open(os.devnull, os.O_RDONLY)
    os.close(free)
    resource.setrlimit(resource.RLIMIT_NOFILE, (free, hard))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_NOFILE, (soft, hard))


def goes_on(typed: Typed, capsys: Capture, procedure: str) -> str:
    """Try to begin a unit with it in the middle of work; what is said of that, as one line."""
    lines = ["understood", "vacuum 420 microns", f"new unit 2 {procedure}", "vacuum 410 microns"]
    assert typed("a", "".join(f"{line}\n" for line in lines)) == 0
    told = " ".join("".join(capsys.readouterr()).split())
    entries = read_log(job_folder("a")).entries
    assert [v.event.words for v in entries if isinstance(v.event, LineHeard)] == lines
    assert [v.event.value for v in entries if isinstance(v.event, ReadingTaken)] == ["420", "410"]
    assert {v.unit for v in entries} == {None}
    assert len(read_procedures(job_folder("a"))) == 1
    assert verify(job_folder("a")).intact
    assert "Traceback" not in told
    return told


def test_a_name_that_no_disk_takes() -> None:
    with pytest.raises(CommandError, match=r"cannot read b{200}\.\.\.: File name too long; name"):
        find_procedure.find_text("b" * 300)


@pytest.mark.skipif(not NEVER_ENDS.exists(), reason="needs Linux's /proc")
def test_a_file_that_gives_errors(typed: Typed, capsys: Capture) -> None:
    Path("our-way").symlink_to(NEVER_ENDS)
    assert ("Unit two was not begun: cannot read our-way: Input/output error; bring it back from a "
            "copy, or name another") in goes_on(typed, capsys, "our-way")


def test_too_many_open_files(typed: Typed, capsys: Capture, monkeypatch: Patch) -> None:
    def find(name: str) -> tuple[str, str]:
        with no_more_files():
            return find_procedure.find_text(name)

    monkeypatch.setattr("fieldvoice.commands.wiring.open_job.find_text", find)
    told = goes_on(typed, capsys, "leak-search")
    assert "Unit two was not begun: cannot read " in told
    assert "leak-search.procedure: Too many open files; try again" in told


def test_what_a_procedure_includes_cannot_be_read() -> None:
    text = 'procedure ours "Ours"\ninclude make-safe\nstage more "More"\nstep a\n  say "Look."\n'
    with no_more_files(), pytest.raises(CommandError, match=r"make-safe\.procedure: Too many open"):
        find_procedure.load_named(text, "ours.procedure")


def test_a_file_that_is_no_text_is_still_told_as_such(tmp_path: Path) -> None:
    (tmp_path / "our-way").write_bytes(b"\xff\xfe\x80")
    with pytest.raises(CommandError, match=r"our-way: .* give a UTF-8 text file"):
        find_procedure.find_text(str(tmp_path / "our-way"))


def test_a_folder_that_takes_no_file_keeps_no_procedure(
    typed: Typed, capsys: Capture, monkeypatch: Patch
) -> None:
    really_open = os.open

    def locked(path: str | Path, *how: int, **more: int) -> int:
        if "procedure-2.txt" in str(path):
            raise PermissionError(13, "Permission denied", str(path))
        return really_open(path, *how, **more)

    monkeypatch.setattr(os, "open", locked)
    assert typed("a", "understood\nnew unit 2 leak-search\nvacuum 410 microns\n") == 0
    told = " ".join("".join(capsys.readouterr()).split())
    assert "The unit is not begun, its procedure cannot be kept: " in told
    assert [v.event.value for v in read_log(job_folder("a")).entries
            if isinstance(v.event, ReadingTaken)] == ["410"]
