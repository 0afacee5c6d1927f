"""What a procedure says of going to its stages out of turn, and the plain way between two steps."""

from __future__ import annotations

import pytest

from fieldvoice.__main__ import main
from fieldvoice.procedure.check import check, load
from fieldvoice.procedure.plain_way import plain_way
from fieldvoice.procedure.reader import parse, shipped, shipped_names
from fieldvoice.procedure.sheet import sheet
from fieldvoice.procedure.stage_check import spoken_names, without_name
from fieldvoice.procedure.writer import write
from support.every_sort import TEXT

SAID = TEXT.replace('stage evacuate "Evacuate"', 'stage evacuate "Evacuate"\n'
                    "  called evacuation or pump-rig\n  part of standing-test\n"
                    "  again from lock\n  needs nitrogen-pressure at most low").replace(
    '  say "Pack up."', '  say "Pack up."\n  no way back until lock or pull')


def test_a_stage_says_how_it_is_gone_to_and_a_step_what_it_bars() -> None:
    procedure = load(SAID)
    stage = procedure.stages["evacuate"]
    assert (stage.called, stage.part_of, stage.again) == (
        ("evacuation", "pump-rig"), "standing-test", "lock")
    assert [(n.quantity, n.high) for n in stage.needs] == [("nitrogen-pressure", "low")]
    bar = procedure.step("finish-up").bar
    assert bar is not None
    assert bar.until == ("lock", "pull")


def test_it_is_written_back_and_shown_on_the_sheet() -> None:
    procedure = load(SAID)
    again = load(write(procedure))
    assert again.stages["evacuate"].called == procedure.stages["evacuate"].called
    assert again.stages["evacuate"].again == "lock"
    bar = again.step("finish-up").bar
    assert bar is not None
    assert bar.until == ("lock", "pull")
    shown = sheet(procedure)
    for words in ("said: evacuation, pump rig", "a jump back begins at 1 lock",
                  "no jump here while nitrogen pressure is not up to 1 psig",
                  "until 1 lock or 6 pull"):
        assert words in shown


def test_a_stage_without_a_spoken_name_is_no_fault_but_is_named(
    tmp_path: object, capsys: pytest.CaptureFixture[str]
) -> None:
    assert check(parse(TEXT)) == []
    assert len(without_name(parse(TEXT))) == 4
    assert main(["procedure", "check", "nitrogen-test"]) == 0
    assert 'gone to only by typing the title: "First stage"' in capsys.readouterr().out


@pytest.mark.parametrize("name", shipped_names())
def test_the_stages_that_technicians_name_have_a_name_in_every_shipped_procedure(
    name: str,
) -> None:
    procedure = load(shipped(name))
    by_title = {"Make safe": "make-safe", "Nitrogen test": "nitrogen-test",
                "Evacuate": "evacuation", "Standing-vacuum test": "standing-test",
                "Release the charge": "release", "Hand over": "hand-over"}
    for stage in procedure.stages.values():
        if stage.title in by_title:
            assert by_title[stage.title] in stage.called, stage.name
        assert set(stage.called) <= set(spoken_names())


@pytest.mark.parametrize("name", shipped_names())
def test_what_pumps_or_lets_refrigerant_in_is_not_gone_to_under_pressure(name: str) -> None:
    procedure = load(shipped(name))
    for step in procedure.steps:
        stage = procedure.stages[step.stage]
        pumps = step.name in ("start-pump", "sweep-start", "isolate", "crack-liquid", "dry-break")
        first = next(s for s in procedure.steps if s.stage == stage.name)
        if pumps and stage.called:
            assert [(n.quantity, n.high) for n in stage.needs] == [("nitrogen-pressure", "zero")], (
                stage.name, first.name)


def test_the_charge_and_the_power_bar_the_way_back() -> None:
    for name in shipped_names():
        procedure = load(shipped(name))
        for step, until in (("lock-off", {"dead-again", "stop-lock", "prove-dead"}),
                            ("crack-liquid", set())):
            if step in procedure.by_name:
                bar = procedure.step(step).bar
                assert bar is not None, (name, step)
                assert set(bar.until) in (until, {"recovered"})


# --- the plain way ------------------------------------------------------------------------------


def test_the_plain_way_takes_the_first_way_on_and_what_was_answered() -> None:
    procedure = load(TEXT)
    way = plain_way(procedure, "lock", ["pull"])
    assert way is not None
    assert (way.steps, way.turns) == (("lock", "class", "clear-area", "outdoor"), 0)
    past = plain_way(procedure, "lock", ["pull"],
                     past=lambda s: "outdoor" if s.name == "clear-area" else None)
    assert past is not None
    assert past.steps == ("lock", "class", "outdoor")


def test_a_way_off_the_plain_one_counts_its_turns() -> None:
    procedure = load(TEXT)
    found = plain_way(procedure, "pull", ["search"])
    assert found is not None
    assert (found.steps, found.turns) == (("pull", "stand"), 1)
    assert plain_way(procedure, "finish-up", ["pull"]) is None


def test_a_step_taken_from_another_procedure_is_left_by_its_first_way_when_skipped() -> None:
    """What stands below it belongs to another verdict: that it gained."""
    procedure = load(shipped("commission-split-system"))
    hold = procedure.step("test-hold")
    assert hold.go is None
    assert hold.branches[0].to == "let-off"
