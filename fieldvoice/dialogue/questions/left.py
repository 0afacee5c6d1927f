"""What is left to do in this stage, what was left undone, and why."""

from __future__ import annotations

from collections.abc import Sequence

from fieldvoice.dialogue.turn import Turn
from fieldvoice.jobstate.records import StepExit
from fieldvoice.jobstate.state import JobState
from fieldvoice.language import intents as i

_ALOUD = 3  # more of them stand on the screen


def open_steps(turn: Turn, _intent: i.Intent) -> None:
    """Steps below the open one in its stage that may apply, then what was left undone so far."""
    state, step = turn.state, turn.state.open_step
    ahead: list[str] = []
    if step is not None:
        names = [s.name for s in state.procedure.steps if s.stage == step.stage]
        ahead = [n for n in names[names.index(step.name):] if _may_apply(state, n)]
    undone = [left.step for left in left_undone(state)]
    parts = [_listed("left in this stage", ahead), _listed("left undone", undone)]
    spoken = "; ".join(part for part in parts if part)
    said = f"{spoken[0].upper()}{spoken[1:]}." if spoken else "Nothing is open."
    shown = [said, *(f"  to do: {_words(n)}" for n in ahead),
             *(f"  undone: {_words(n)}" for n in undone)]
    turn.say("answer", "\n".join(shown), said)


def skipped(turn: Turn, _intent: i.Intent) -> None:
    """Steps that were skipped, each with the reason that was given."""
    found = left_undone(turn.state)
    if not found:
        turn.answer("Nothing was skipped.")
        return
    told = [f"{_words(left.step)}: {left.reason}" for left in found]
    more = f"; and {len(found) - _ALOUD} before" if len(found) > _ALOUD else ""
    spoken = f"{len(found)} skipped. {'; '.join(told[-_ALOUD:])}{more}."
    listed = "\n".join(f"  {line}" for line in told)
    turn.say("answer", f"{len(found)} skipped.\n{listed}", spoken)


def left_undone(state: JobState) -> list[StepExit]:
    """Skipped by the technician, and not done since; the newest word on each step."""
    newest = {left.step: left for left in state.trail}
    return [left for left in newest.values() if left.skipped and left.line is not None]


def _may_apply(state: JobState, name: str) -> bool:
    """Whether nothing known speaks against the step."""
    for when in state.procedure.step(name).when:
        last = state.last(when.answer) if when.limits else None
        if last is not None and state.within(when, last.si) is False:
            return False
        answer = None if when.limits else state.answer(when.answer)
        if answer is not None and answer not in when.options:
            return False
    return True


def _listed(what: str, names: Sequence[str]) -> str:
    if not names:
        return ""
    some = ", ".join(_words(name) for name in names[:_ALOUD])
    more = f" and {len(names) - _ALOUD} more" if len(names) > _ALOUD else ""
    return f"{len(names)} {what}: {some}{more}"


def _words(name: str) -> str:
    return name.replace("-", " ")
