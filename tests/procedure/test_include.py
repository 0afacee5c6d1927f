"""Procedures made of others, and the text that is kept with a job."""

from __future__ import annotations

from dataclasses import replace
from importlib import resources

import pytest

from fieldvoice.procedure.check import load
from fieldvoice.procedure.include import expand
from fieldvoice.procedure.model import Procedure
from fieldvoice.procedure.reader import parse, shipped, shipped_names
from fieldvoice.procedure.settings import Place, ProcedureError
from fieldvoice.procedure.writer import write

PART = """\
procedure part "A part"
limit deep = 500 microns source "common practice"
limit spare = 1 min source "common practice"
stage work "Work"
step first
  say "First."
step ask
  say "Yes or no?"
  choose yes
  choose no then stop
step pull
  say "Pull."
  read vacuum at most deep
step stand
  say "Stand."
  hold spare "standing"
  end good
step stop
  say "Stop."
  end bad "Bad."
"""
WHOLE = """\
procedure whole "A whole"
limit deep = 300 microns source "UFGS 15182 section 3.3.3"
stage work "Other work"
step begin
  say "Begin."
include part from ask
  on good go to finish
stage close "Close"
step finish
  say "Finish."
  end done
"""


def _expand(whole: str, part: str = PART) -> Procedure:
    """As the reader expands, with `part` in the place of a shipped file."""
    return expand(_unexpanded(whole), lambda name: parse(part))


def _unexpanded(text: str) -> Procedure:
    from fieldvoice.procedure.reader import _Builder, _grammar  # the form without its includes

    return _Builder(text).procedure(_grammar().parse(text))


def test_the_steps_of_an_include_stand_where_it_stands_from_its_start_on() -> None:
    procedure = _expand(WHOLE)
    assert [s.name for s in procedure.steps] == ["begin", "ask", "pull", "stand", "stop", "finish"]
    assert procedure.destination(procedure.step("begin"), None) == "ask"


def test_an_ending_leads_on_where_the_including_file_says_so_and_else_stays() -> None:
    procedure = _expand(WHOLE)
    stand = procedure.step("stand")
    assert stand.ending is None
    assert procedure.destination(stand, None) == "finish"
    assert procedure.step("stop").ending is not None


def test_a_step_that_the_whole_leads_to_comes_once_from_the_first_part_that_has_it() -> None:
    """Both shipped parts ask for the kind of valve; each needs it for conditions of its own."""
    text = WHOLE.replace("on good go to finish", "on good go to finish\ninclude part from pull")
    text = text.replace("step begin", "step begin go to ask")
    with pytest.raises(ProcedureError, match="have a step pull"):
        _expand(text)  # reached in both: that stays a fault
    second = PART.replace("step first", "step start go to ask step lead").replace("pull", "late") \
        .replace("stand", "last").replace("stop", "halt")
    parts = iter([parse(PART), parse(second)])
    both = expand(_unexpanded(text.replace("from pull", "from late")), lambda name: next(parts))
    assert [s.name for s in both.steps].count("ask") == 1


def test_what_the_including_file_defines_wins() -> None:
    assert str(_expand(WHOLE).limits["deep"]) == "300 microns"
    procedure = _expand(WHOLE + 'step pull\n  say "Mine."\n  go to finish\n')
    assert procedure.step("pull").say == "Mine."
    assert procedure.step("ask").choices[0].to == "pull"
    assert "stand" not in procedure.by_name  # nothing leads there any more


def test_stages_of_one_name_are_kept_apart() -> None:
    procedure = _expand(WHOLE)
    assert {s.name: s.stage for s in procedure.steps}["pull"] == "part-work"
    assert procedure.stages["part-work"].title == "Work"


TWICE = WHOLE.replace("include part from ask\n  on good go to finish\n", """\
include part from ask
  on good go to again-ask
include part from ask as again
  on good go to finish
""")


def test_the_steps_of_an_include_can_be_there_a_second_time_under_a_prefix() -> None:
    part = PART.replace('say "Pull."', 'say "Pull." show "{answer.ask}" only when ask is yes')
    procedure = load(write(_expand(TWICE, part)))
    assert [s.name for s in procedure.steps] == [
        "begin", "ask", "pull", "stand", "stop",
        "again-ask", "again-pull", "again-stand", "again-stop", "finish"]
    assert procedure.destination(procedure.step("stand"), None) == "again-ask"
    assert procedure.destination(procedure.step("again-stand"), None) == "finish"
    assert [w.to for w in procedure.step("again-ask").choices] == ["again-pull", "again-stop"]
    pull = procedure.step("again-pull")
    assert (pull.show, pull.when[0].answer) == ("{answer.again-ask}", "again-ask")
    assert procedure.stages[pull.stage].title == "Work"
    assert str(procedure.limits["deep"]) == "300 microns"  # limits are shared


def test_what_the_including_file_defines_wins_over_a_prefixed_step_too() -> None:
    procedure = _expand(TWICE + 'step again-pull\n  say "Mine."\n  go to finish\n')
    assert procedure.step("again-ask").choices[0].to == "again-pull"
    assert procedure.step("again-pull").say == "Mine."
    assert "again-stand" not in procedure.by_name


def test_a_prefixed_step_keeps_what_it_asks_of_steps_outside_the_include() -> None:
    part = PART.replace('step pull\n', 'step pull\n  only when first-ask is yes\n').replace(
        'step first\n  say "First."', 'step first-ask\n  say "First?"\n  choose yes\n  choose no')
    pull = _expand(TWICE, part).step("again-pull")
    assert pull.when[0].answer == "first-ask"


def test_the_whole_can_be_read_again_from_its_own_text() -> None:
    text = write(_expand(WHOLE))
    assert "include" not in text
    assert [s.name for s in load(text).steps] == [s.name for s in _expand(WHOLE).steps]


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("from ask", "from asking", "part has no step asking"),
        ("on good go", "on fine go", "part has no ending fine"),
        ("from ask", "from asking as again", "part has no step asking"),
        ("include part", "include part from pull\ninclude part", "two of the included"),
    ],
)
def test_an_include_that_cannot_be_is_refused(old: str, new: str, words: str) -> None:
    with pytest.raises(ProcedureError, match=words):
        _expand(WHOLE.replace(old, new))


def test_an_ending_under_a_condition_cannot_be_included() -> None:
    # led on, it would have two ways: one when it is done, one when it is passed over
    part = PART.replace("step stand\n", "step stand\n  only when ask is yes\n")
    with pytest.raises(ProcedureError, match="stand ends part only under a condition"):
        _expand(WHOLE, part)


def test_an_include_of_nothing_known_names_what_there_is() -> None:
    with pytest.raises(ProcedureError, match="nitrogen-test") as found:
        parse(WHOLE)
    assert (found.value.line, found.value.column) == (6, 1)


def test_an_include_of_itself_is_refused() -> None:
    with pytest.raises(ProcedureError, match="includes itself"):
        parse(WHOLE.replace("procedure whole", "procedure nitrogen-test")
              .replace("include part from ask", "include nitrogen-test")
              .replace("on good go to finish", ""))


OWN = """\
procedure own "My own"
stage mine "Mine"
step begin
  say "Begin."
include nitrogen-test from valves-shut
  on passed go to look
stage after "After"
step look
  say "Look."
  read vacuum at most deepest
  end good
"""


def test_a_fault_in_a_file_with_includes_keeps_its_own_place() -> None:
    with pytest.raises(ProcedureError, match="unknown limit deepest") as found:
        load(OWN)
    assert (found.value.line, found.value.column) == (10, 3)


def test_a_fault_in_what_is_included_names_that_file_and_its_line() -> None:
    text = OWN.replace(" at most deepest", "").replace(
        "stage mine", 'limit stage-wait = 5 psig source "nobody"\nstage mine', 1)
    with pytest.raises(ProcedureError, match="stage-wait is in psig") as found:
        load(text)
    assert found.value.place.file == "nitrogen-test.procedure"
    assert "nitrogen-test.procedure, line " in str(found.value)
    folder = resources.files("fieldvoice.grammar") / "procedures"
    lines = (folder / found.value.place.file).read_text(encoding="utf-8").splitlines()
    assert "hold stage-wait" in lines[found.value.line - 1]


def test_the_kept_text_of_a_file_with_includes_reads_as_the_same_procedure() -> None:
    procedure = load(OWN.replace(" at most deepest", ""))
    assert "include" not in procedure.text
    assert _placeless(load(procedure.text)) == _placeless(procedure)


def _placeless(procedure: Procedure) -> object:
    """Everything but the places and the text."""
    def strip(value: object) -> object:
        if isinstance(value, Place):
            return None
        if isinstance(value, tuple):
            return tuple(strip(v) for v in value)
        if hasattr(value, "__dataclass_fields__"):
            return {k: strip(getattr(value, k)) for k in value.__dataclass_fields__ if k != "text"
                    or not isinstance(value, Procedure)}
        return {k: strip(v) for k, v in value.items()} if isinstance(value, dict) else value

    return strip(replace(procedure, text=""))


@pytest.mark.parametrize("bound", ["at most deep", "at least deep", "between deep and deep"])
def test_a_condition_on_a_reading_is_written_as_it_was_read(bound: str) -> None:
    text = PART.replace('step stand\n', f"step stand\n  only when vacuum {bound}\n")
    assert f"only when vacuum {bound}" in write(load(text))


@pytest.mark.parametrize("name", shipped_names())
def test_writing_and_reading_again_changes_nothing(name: str) -> None:
    procedure = parse(shipped(name))
    assert _placeless(parse(write(procedure))) == _placeless(procedure)


def test_the_commissioning_has_every_stage_of_its_parts() -> None:
    names = set(load(shipped("commission-split-system")).by_name)
    assert {"braze", "test-hold", "standing-vacuum", "crack-liquid", "cores-in", "suction",
            "owner"} <= names
    assert "test-first" not in names
