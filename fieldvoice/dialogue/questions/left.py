"""What is left to do in this stage, and what was left undone."""

from __future__ import annotations

from collections.abc import Sequence

from fieldvoice.dialogue.depth import conditions
from fieldvoice.dialogue.turn import Turn
from fieldvoice.jobstate.state import JobState
from fieldvoice.language import intents as i

_ALOUD = 3  # more of them stand on the screen


def open_steps(turn: Turn, _intent: i.Intent) -> None:
    """What is to do in the open stage, what is listed first, then what was left undone so far."""
    ahead = _ahead(turn.state)
    undone = [left.step for left in turn.state.left_open]
    parts = [_listed("left in this stage", ahead), _listed("left undone", undone)]
    spoken = "; ".join(part for part in parts if part)
    said = f"{spoken[0].upper()}{spoken[1:]}." if spoken else "Nothing is open."
    shown = [said, *(f"  to do: {_words(n)}" for n in ahead),
             *(f"  undone: {_words(n)}" for n in undone)]
    turn.say("answer", "\n".join(shown), said)


def _ahead(state: JobState) -> list[str]:
    """What is listed before the open step, that one, and those below it that may apply."""
    here = state.open_step
    if here is None:
        return []
    stage = [step for step in state.procedure.steps if step.stage == here.stage]
    below = [step.name for step in stage[stage.index(here) + 1:]
             if not conditions.passed_over(state, step)]
    return [*state.listed, here.name, *(name for name in below if name not in state.listed)]


def _listed(what: str, names: Sequence[str]) -> str:
    if not names:
        return ""
    some = ", ".join(_words(name) for name in names[:_ALOUD])
    more = f" and {len(names) - _ALOUD} more" if len(names) > _ALOUD else ""
    return f"{len(names)} {what}: {some}{more}"


def _words(name: str) -> str:
    return name.replace("-", " ")
