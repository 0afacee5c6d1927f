"""What is done once a job is not asked again for its second unit; the lockout is."""

from __future__ import annotations

from fieldvoice.dialogue.depth.done_once import done_once
from fieldvoice.jobstate import events as e
from fieldvoice.jobstate.depths import READINGS_AND_HOLDS
from fieldvoice.jobstate.state import JobState
from fieldvoice.language.parser import understand
from fieldvoice.procedure.check import load
from fieldvoice.procedure.reader import parse, shipped
from support.bench import Bench

NEW = "evacuate-and-release"
ONCE = ["gear", "ready"]


def _say(bench: Bench, *lines: str) -> Bench:
    for line in lines:
        bench.say(understand(line), words=line)
    return bench


def _safe(
    refrigerant: str = "R-32", depth: str | None = None, minutes: float = 0.0
) -> Bench:
    """A unit that has been made safe, as far as its nitrogen test, so long after the start."""
    bench = Bench(load(shipped("nitrogen-test")), depth=depth)
    bench.wait(minutes=minutes)
    lines = iter(["refrigerant amount 6 lb 4 oz", f"refrigerant {refrigerant}"])
    while bench.state.procedure.stages[bench.state.open_step.stage].name == "safe":  # type: ignore[union-attr]
        step = bench.state.open_step
        assert step is not None
        said = next(lines) if step.needs or step.know else "next"
        _say(bench, *["understood"] * len(bench.state.unacknowledged()), said)
    return bench


def _fresh() -> Bench:
    return Bench(load(shipped(NEW)))


def test_make_safe_says_what_holds_for_the_whole_job() -> None:
    steps = parse(shipped("make-safe")).steps
    assert [step.name for step in steps if step.once] == ONCE


def test_what_another_unit_has_done_counts_with_its_name_and_time() -> None:
    carried = done_once(_fresh().state, {"unit one": _safe().state})
    assert [c.step for c in carried] == ONCE
    assert {c.why for c in carried} == {"done for unit one at 9:00"}
    assert not any(c.cautions for c in carried)


def test_the_second_unit_is_locked_out_read_and_its_room_made_safe_by_itself() -> None:
    """An indoor unit can stand in another room: its flames, air and detector are its own."""
    bench = _fresh()
    for event in done_once(bench.state, {"unit one": _safe().state}):
        bench.happen(event)
    visited = []
    for line in ("next", "understood", "next", "next", "refrigerant amount 5 lb",
                 "refrigerant R-32", "understood", "next", "next", "next", "next"):
        _say(bench, line)
        visited.append(bench.state.step)
    assert visited == ["power-off", "power-off", "prove-dead", "refrigerant-amount",
                       "refrigerant", "no-flame", "no-flame", "air", "detector", "room-size",
                       "tightness"]
    skipped = {left.step: left.reason for left in bench.state.trail if left.skipped}
    assert skipped["ready"] == "done for unit one at 9:00"
    assert not {"power-off", "no-flame", "air", "detector", "room-size"} & skipped.keys()


def test_what_did_not_apply_was_skipped_or_taken_back_there_is_asked_here() -> None:
    unit = _safe("R-410A")
    assert [c.step for c in done_once(_fresh().state, {"unit one": unit.state})] == [
        "gear", "ready"]
    bench = Bench(load(shipped("nitrogen-test")))
    _say(bench, "skip because no gloves")
    assert done_once(_fresh().state, {"unit one": bench.state}) == []
    bench = _say(Bench(load(shipped("nitrogen-test"))), "next", "take that back")
    assert done_once(_fresh().state, {"unit one": bench.state}) == []


def test_steps_done_in_a_list_count_too_and_the_newest_word_is_the_one_given() -> None:
    early, late = _safe(), _safe(depth=READINGS_AND_HOLDS, minutes=14)
    carried = done_once(_fresh().state, {"unit one": early.state, "unit two": late.state})
    assert carried[0] == e.StepCarried("gear", "done for unit two at 9:14", None, [])


def test_a_step_that_says_something_else_there_is_none_of_them() -> None:
    other = shipped("nitrogen-test").replace("Put on your glasses and gloves.", "Put on a hat.")
    bench = _say(Bench(load(other)), "next")
    assert done_once(_fresh().state, {"unit one": bench.state}) == []


def test_a_sheet_that_ends_with_such_a_step_still_has_its_ending() -> None:
    new = JobState.empty(load(shipped("make-safe")))
    assert "ready" not in [c.step for c in done_once(new, {"unit one": _safe().state})]


def test_a_fact_is_asked_for_by_its_own_step_where_less_is_said() -> None:
    bench = Bench(load(shipped("nitrogen-test")), depth=READINGS_AND_HOLDS)
    _say(bench, "understood", "next", "next", "refrigerant amount 6 lb 4 oz")
    assert bench.state.step == "refrigerant"
    assert bench.text.endswith("Tell me the refrigerant on the nameplate.")
    _say(bench, "next")
    assert bench.state.step == "refrigerant"
