"""Facts of --site: checked before a folder is made, honoured or refused when a job goes on."""

from __future__ import annotations

import io
from pathlib import Path

import pytest

from fieldvoice.__main__ import main
from fieldvoice.devices.joblog import job_folder, read_log
from fieldvoice.jobstate.events import FactTold, JobStarted
from fieldvoice.procedure.reader import shipped_names
from fieldvoice.quantity.facts import facts
from support.small_procedure import TEXT

Capture = pytest.CaptureFixture[str]
Patch = pytest.MonkeyPatch


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: Patch) -> Path:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    (tmp_path / "small.procedure").write_text(TEXT, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def work(monkeypatch: Patch, lines: str, *site: str) -> int:
    monkeypatch.setattr("sys.stdin", io.StringIO(lines))
    given = [part for fact in site for part in ("--site", fact)]
    return main(["work", "small.procedure", "--job", "a", *given])


def events() -> list[object]:
    return [entry.event for entry in read_log(job_folder("a")).entries]


@pytest.mark.parametrize(
    ("fact", "named"),
    [
        ("altitude=up", "Altitude is 'up'"),
        ("altitude=5280lb", "not known as a length"),
        ("altitude=60000ft", "I take"),
        ("refrigerant=R-999", "R-454B"),
        ("refridgerant=R-32", "Did you mean refrigerant?"),
        ("criterion=two-hours", "no criterion"),
        ("deep-vacuum=5 ft", "not known as a pressure"),
        ("temperature-unit=K", "degF, degC"),
    ],
)
def test_a_bad_fact_is_refused_and_leaves_no_folder(
    monkeypatch: Patch, capsys: Capture, fact: str, named: str
) -> None:
    assert work(monkeypatch, "understood\n", fact) == 2
    told = capsys.readouterr().err
    assert named in told
    assert "--facts" in told
    assert not job_folder("a").exists()


def test_facts_that_contradict_each_other_are_refused_together(
    monkeypatch: Patch, capsys: Capture
) -> None:
    assert work(monkeypatch, "", "altitude=5280ft", "atmosphere=29.9inHg") == 2
    assert "the air stands at about 24.6 inHg" in capsys.readouterr().err
    assert not job_folder("a").exists()


def test_forms_that_work_out_takes_are_kept_in_one_form(monkeypatch: Patch) -> None:
    given = ("refrigerant=r454b", "altitude=5280ft", "liquid-line=3/8in", "adder=0.6oz/ft",
             "deep-vacuum=400 microns")
    assert work(monkeypatch, "understood\n", *given) == 0
    began = events()[0]
    assert isinstance(began, JobStarted)
    assert began.site == {"refrigerant": "R-454B", "altitude": "5280 ft", "liquid-line": "3/8",
                          "adder": "0.6 oz/ft", "deep-vacuum": "400 microns"}


def test_facts_given_when_work_goes_on_are_events(monkeypatch: Patch) -> None:
    work(monkeypatch, "understood\n", "refrigerant=R-32")
    assert work(monkeypatch, "what now\n", "refrigerant=r32", "technician=Ann Lee") == 0
    assert [e for e in events() if isinstance(e, FactTold)] == [FactTold("technician", "Ann Lee")]


def test_a_bad_fact_when_work_goes_on_leaves_the_log_as_it_was(
    monkeypatch: Patch, capsys: Capture
) -> None:
    work(monkeypatch, "understood\n")
    before = (job_folder("a") / "log.jsonl").read_bytes()
    assert work(monkeypatch, "what now\n", "refrigerant=R-999") == 2
    assert "R-454B" in capsys.readouterr().err
    assert (job_folder("a") / "log.jsonl").read_bytes() == before


@pytest.mark.parametrize("procedure", shipped_names())
def test_the_facts_are_listed_with_those_that_the_procedure_asks(
    procedure: str, capsys: Capture
) -> None:
    assert main(["work", procedure, "--facts"]) == 0
    listed = capsys.readouterr().out
    shown = {f.name for f in facts().values() if f.name in listed}
    assert shown >= facts().keys() - {"criterion"}
    assert ("refrigerant *" in listed) is ("step refrigerant\n" in _text(procedure))
    assert all(len(line) <= 100 for line in listed.splitlines())


def _text(procedure: str) -> str:
    from fieldvoice.procedure.reader import parse, shipped

    return parse(shipped(procedure)).text
