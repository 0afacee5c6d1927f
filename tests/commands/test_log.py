"""`fieldvoice log`, and what the other commands do with a job that is not as it was written."""

import hashlib
import json
import shutil
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from fieldvoice.__main__ import main
from fieldvoice.devices.joblog import (
    RescueFile,
    job_folder,
    jobs_folder,
    read_log,
    register_path,
)
from fieldvoice.devices.joblog.lines import FIRST_PREV, line_hash, with_hash
from fieldvoice.jobstate.events import LogMended, ReadingTaken, Said

Capture = pytest.CaptureFixture[str]
Typed = Callable[..., int]
LF = b"\n"
LINES = "understood\nvacuum 410 microns\nvacuum 390 microns\n"


def log_of(job: str) -> Path:
    return job_folder(job) / "log.jsonl"


def alter(job: str, old: bytes = b'"410", "unit": "microns", "si"',
          new: bytes = b'"310", "unit": "microns", "si"') -> None:
    path = log_of(job)
    assert old in path.read_bytes()
    path.write_bytes(path.read_bytes().replace(old, new))


def test_a_job_as_it_was_written_is_told_as_such(typed: Typed, capsys: Capture) -> None:
    assert typed("a", LINES) == 0
    capsys.readouterr()
    assert main(["log", "verify", "a"]) == 0
    found = read_log(job_folder("a"))
    assert capsys.readouterr().out == (
        f"a: as it was written: {found.lines} lines, sealed, short hash {found.last_hash[:12]}\n")


def test_an_altered_job_is_told_with_its_line_and_what_to_do(
    typed: Typed, capsys: Capture
) -> None:
    typed("a", LINES)
    typed("b", LINES)
    alter("a")
    capsys.readouterr()
    assert main(["log", "verify", "a", "b"]) == 1
    out = capsys.readouterr().out
    assert "a: NOT as it was written: 1 fault, " in out
    assert "was changed after it was written; it does not count" in out
    assert "What to do: `fieldvoice work` with --mend" in out
    assert "b: as it was written" in out
    assert main(["log", "verify", "a", "b", "--json"]) == 1
    told: list[dict[str, Any]] = [json.loads(v) for v in capsys.readouterr().out.splitlines()]
    assert [(job["job"], job["intact"], len(job["faults"])) for job in told] == [
        ("a", False, 1), ("b", True, 0)]


def test_all_jobs_are_checked_and_a_job_that_is_gone_is_named(
    typed: Typed, capsys: Capture
) -> None:
    for job in "abc":
        typed(job, LINES)
    shutil.rmtree(job_folder("b"))
    job_folder("c").rename(job_folder("renamed"))
    capsys.readouterr()
    assert main(["log", "verify", "--all"]) == 1
    out = capsys.readouterr().out
    assert "job b of" in out
    assert "is gone from" in out
    assert "job c of" not in out  # it is there, under another name
    assert "this folder is a copy, or was renamed" in out
    (jobs_folder() / "emptied").mkdir()
    main(["log", "verify", "--all"])
    assert "emptied: cannot be checked: no job log at" in capsys.readouterr().out


def test_a_register_that_was_changed_is_told(typed: Typed, capsys: Capture) -> None:
    typed("a", LINES)
    raw = register_path().read_bytes()
    register_path().write_bytes(raw.replace(b'"job": "a"', b'"job": "z"', 1))
    assert main(["log", "verify", "--all"]) == 1
    assert "are not as they were written, the first is line 1" in capsys.readouterr().out


def test_jobs_or_all_must_be_named(typed: Typed, capsys: Capture) -> None:
    assert main(["log", "verify"]) == 2
    assert main(["log", "verify", "a", "--all"]) == 2
    assert "--all" in capsys.readouterr().err


def test_help_says_what_cannot_be_found(capsys: Capture) -> None:
    assert main(["log", "verify", "--help"]) == 0
    told = " ".join(capsys.readouterr().out.split())
    assert "somebody who rewrites everything" in told
    assert "No key is used" in told


def test_the_schema_is_printed_and_every_line_is_valid(typed: Typed, capsys: Capture) -> None:
    typed("a", LINES)
    capsys.readouterr()
    assert main(["log", "schema"]) == 0
    check = jsonschema.Draft202012Validator(json.loads(capsys.readouterr().out))
    for line in log_of("a").read_bytes().splitlines():
        check.validate(json.loads(line))


# --- the other commands -------------------------------------------------------------------------

DAMAGE: dict[str, Callable[[bytes], bytes]] = {
    "an altered value": lambda raw: raw.replace(b'"410"', b'"310"'),
    "a version beyond all numbers": lambda raw: raw.replace(b'{"v": 2', b'{"v": 1e999', 2),
    "brackets": lambda raw: raw.replace(b'"data": {', b'"data": {"x": ' + b"[" * 200_000, 3),
    "no text": lambda raw: raw.replace(b"microns", b"\xff\xfe"),
    "zeros": lambda raw: raw[:400] + b"\0" * 400 + raw[800:],
    "the first line": lambda raw: raw[raw.index(b"\n") + 1 :],
    "an emptied log": lambda raw: b"",
    "rubbish": lambda raw: b"{}\n{}\n",
    "one half": lambda raw: raw[: len(raw) // 2],
    "a long line": lambda raw: raw + b"[" + b"1," * 5_000_000 + b"1]\n",
}


@pytest.mark.parametrize("name", DAMAGE)
def test_one_damaged_job_holds_up_nothing(typed: Typed, capsys: Capture, name: str) -> None:
    typed("a", LINES)
    typed("b", LINES)
    raw = log_of("a").read_bytes()
    spoiled = DAMAGE[name](raw)
    assert spoiled != raw
    log_of("a").write_bytes(spoiled)
    capsys.readouterr()
    assert main(["jobs"]) == 0
    out = capsys.readouterr().out
    assert {line.split()[0] for line in out.splitlines()} == {"a", "b"}
    assert main(["report", "a"]) in (1, 2)
    assert main(["log", "verify", "a"]) == 1
    assert typed("a", "what now\n") == 2
    assert "--mend" in capsys.readouterr().err
    assert typed("a", "what now\n", "--mend") == 0, capsys.readouterr().err
    assert "The log of this job was damaged." in " ".join(capsys.readouterr().out.split())
    assert typed("a", "what now\n") == 0
    assert main(["log", "verify", "a"]) == 0


FORGED: dict[str, tuple[str, dict[str, Any]]] = {
    "a value of letters": ("reading-taken", {"value": "lots"}),
    "a value without end": ("reading-taken", {"value": "9" * 4000}),
    "a pressure beyond all": ("reading-taken", {"si": 1e300}),
    "a minute beyond all": ("reading-taken", {"minute": 1e300}),
    "a line that is none": ("reading-taken", {"line": -(2**60)}),
    "a step that is none": ("step-opened", {"step": "x" * 5000, "stage": "\u202e"}),
    "a visit beyond all": ("step-opened", {"visit": 2**62}),
    "an intent of nothing": ("line-heard", {"intent": {"intent": ["x", {"y": None}]}}),
    "a kind of intent": ("line-heard", {"intent": {"kind": [1], "intent": 7}}),
    "a sureness beyond all": ("line-heard", {"confidence": 1e11}),
    "a tone that is none": ("said", {"tone": "\u0000"}),
    "a site of rubbish": ("job-started", {"site": {"altitude": "up", "\u0001": ""}}),
    "a mode that is none": ("job-started", {"mode": "dream"}),
}


def forge(job: str, kind: str, change: dict[str, Any]) -> None:
    """Another event, by somebody who writes all hashes anew, and with the seals gone."""
    prev, lines, done = FIRST_PREV, [], False
    for raw in log_of(job).read_bytes().splitlines():
        found = {**json.loads(raw), "prev": prev}
        del found["hash"]
        if found["kind"] == kind and not done:
            found["data"] |= change
            done = True
        lines.append(with_hash(found))
        prev = line_hash(lines[-1])
    assert done
    log_of(job).write_bytes(b"".join(line + b"\n" for line in lines))
    (job_folder(job) / "seal.json").unlink()
    register_path().unlink()


@pytest.mark.parametrize("name", FORGED)
def test_a_forged_event_makes_no_command_fail(typed: Typed, capsys: Capture, name: str) -> None:
    typed("a", LINES)
    forge("a", *FORGED[name])
    assert main(["jobs"]) == 0
    assert main(["report", "a"]) in (0, 1)
    assert main(["log", "verify", "a"]) in (0, 1)
    assert typed("a", "what now\n") in (0, 2)
    assert typed("a", "what now\n", "--mend") in (0, 2)


def test_a_mend_is_logged_spoken_once_and_shown_in_the_report(
    typed: Typed, capsys: Capture
) -> None:
    typed("a", LINES)
    alter("a")
    assert typed("a", "what now\n", "--mend") == 0
    said = "The log of this job was damaged. One line of it does not count."
    assert said in " ".join(capsys.readouterr().out.split())
    entries = read_log(job_folder("a")).entries
    (mended,) = [v.event for v in entries if isinstance(v.event, LogMended)]
    assert "was changed after it was written" in mended.faults[0]
    assert any(isinstance(v.event, Said) and v.event.aloud and v.event.text.startswith(said)
               for v in entries)
    assert [v.event.value for v in entries if isinstance(v.event, ReadingTaken)] == ["390"]
    assert typed("a", "what now\n") == 0
    assert said not in " ".join(capsys.readouterr().out.split())
    assert main(["report", "a"]) == 0
    page = (job_folder("a") / "report.html").read_text(encoding="utf-8")
    assert "a damaged log was gone on with" in page


def test_nothing_is_mended_where_nothing_is_wrong(typed: Typed, capsys: Capture) -> None:
    typed("a", LINES)
    assert typed("a", "what now\n", "--mend") == 0
    assert not any(isinstance(v.event, LogMended) for v in read_log(job_folder("a")).entries)


def test_a_procedure_that_was_altered_is_not_worked_with(typed: Typed, capsys: Capture) -> None:
    typed("a", LINES)
    kept = job_folder("a") / "procedure.txt"
    text = kept.read_text(encoding="utf-8")
    altered = text.replace("= 500 microns", "= 900 microns")
    assert altered != text
    kept.write_text(altered, encoding="utf-8")
    before = log_of("a").read_bytes()
    assert typed("a", "what now\n") == 2
    told = capsys.readouterr().err
    assert "procedure.txt: is not the text of pump-down that the job began with" in told
    assert "Bring it back from a copy" in told
    assert log_of("a").read_bytes() == before
    assert typed("a", "what now\n", "--mend") == 0
    assert kept.read_text(encoding="utf-8") == text
    aside = job_folder("a") / "altered-procedure-1.txt"
    assert aside.read_text(encoding="utf-8") == altered
    assert any(isinstance(v.event, LogMended) for v in read_log(job_folder("a")).entries)
    assert main(["log", "verify", "a"]) == 0


@pytest.mark.parametrize("log", [None, b""])
def test_a_log_that_was_removed_or_emptied_is_not_begun_anew(
    typed: Typed, capsys: Capture, log: bytes | None
) -> None:
    typed("a", LINES)
    kept = (job_folder("a") / "procedure.txt").read_bytes()
    if log is None:
        log_of("a").unlink()
    else:
        log_of("a").write_bytes(log)
    assert typed("a", "what now\n") == 2
    told = capsys.readouterr().err
    assert "its log is gone" in told if log is None else "are missing" in told
    assert log_of("a").exists() == (log is not None)
    assert (job_folder("a") / "procedure.txt").read_bytes() == kept


def test_a_report_of_an_altered_job_says_so_and_fails(typed: Typed, capsys: Capture) -> None:
    typed("a", LINES)
    assert main(["report", "a"]) == 0
    alter("a")
    assert main(["report", "a"]) == 1
    page = (job_folder("a") / "report.html").read_text(encoding="utf-8")
    assert "was changed after it was written" in page


def replace_procedure(job: str) -> str:
    """Put other limits into the procedure, and its hash into the line that names it."""
    kept = job_folder(job) / "procedure.txt"
    text = kept.read_text(encoding="utf-8")
    foreign = text.replace("= 500 microns", "= 900 microns")
    assert foreign != text
    kept.write_text(foreign, encoding="utf-8")
    alter(job, *(hashlib.sha256(v.encode()).hexdigest().encode() for v in (text, foreign)))
    return foreign


def test_a_foreign_procedure_named_by_an_altered_line_is_betrayed_by_the_seal(
    typed: Typed, capsys: Capture
) -> None:
    typed("a", LINES)
    foreign = replace_procedure("a")
    own = Path("small.procedure").read_text(encoding="utf-8")
    Path("small.procedure").write_text(foreign, encoding="utf-8")
    assert typed("a", "what now\n", "--mend") == 2
    assert "procedure.txt: is not the text that the job was sealed with" in capsys.readouterr().err
    Path("small.procedure").write_text(own, encoding="utf-8")
    assert typed("a", "what now\n", "--mend") == 0
    assert (job_folder("a") / "procedure.txt").read_text(encoding="utf-8") == own
    assert typed("a", "what now\n") == 0
    assert main(["log", "verify", "a"]) == 0


def test_where_nothing_proves_the_procedure_any_more_that_is_said(
    typed: Typed, capsys: Capture
) -> None:
    typed("a", LINES)
    replace_procedure("a")
    (job_folder("a") / "seal.json").unlink()
    register_path().unlink()
    assert typed("a", "what now\n", "--mend") == 0
    assert "Its procedure may be another one than it began with, check its limits." in " ".join(
        capsys.readouterr().out.split())
    (mended,) = [v.event for v in read_log(job_folder("a")).entries
                 if isinstance(v.event, LogMended)]
    assert "the procedure: may be another one" in mended.faults[-1]
    assert typed("a", "what now\n") == 0  # told once
    assert main(["log", "verify", "a"]) == 0
    kept = job_folder("a") / "procedure.txt"
    kept.write_text(kept.read_text(encoding="utf-8") + "\n# more", encoding="utf-8")
    assert typed("a", "what now\n", "--mend") == 2
    assert main(["log", "verify", "a"]) == 1


def test_a_line_that_names_another_procedure_does_not_shut_a_job_whose_text_is_sealed(
    typed: Typed, capsys: Capture
) -> None:
    typed("a", LINES)
    own = hashlib.sha256((job_folder("a") / "procedure.txt").read_bytes()).hexdigest()
    alter("a", own.encode(), b"0" * 64)
    assert typed("a", "what now\n") == 2
    assert typed("a", "what now\n", "--mend") == 0
    assert "Its procedure may be another one" not in capsys.readouterr().out
    assert typed("a", "what now\n") == 0
    assert main(["log", "verify", "a"]) == 0


def test_lines_kept_aside_that_wait_are_told(typed: Typed, capsys: Capture) -> None:
    typed("a", LINES)
    raw = log_of("a").read_bytes()
    turn = json.loads(raw.splitlines()[-1])["turn"]
    cut = b"".join(raw.splitlines(keepends=True)[: turn - 1])
    rescue = RescueFile("a", datetime(2026, 3, 2, 14, tzinfo=UTC))
    rescue.keep(raw)
    capsys.readouterr()
    assert main(["log", "verify", "a"]) == 0  # all of them are in the log
    assert "kept aside" not in capsys.readouterr().out
    log_of("a").write_bytes(cut)
    assert main(["log", "verify", "a"]) == 1
    told = capsys.readouterr().out
    assert f"{raw.count(LF) - cut.count(LF)} lines that were" in told
    assert f"kept aside wait in {rescue.path}" in told
    log_of("a").unlink()
    assert main(["log", "verify", "a", "--json"]) == 1
    assert "wait in" in json.loads(capsys.readouterr().out)["notes"][0]
