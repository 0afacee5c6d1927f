"""Steps that are listed before the one that follows them, and done together with it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from fieldvoice.dialogue import prompts
from fieldvoice.dialogue.depth import conditions, kinds
from fieldvoice.dialogue.turn import Turn
from fieldvoice.jobstate import events as e
from fieldvoice.jobstate.depths import EVERY_STEP
from fieldvoice.jobstate.state import JobState
from fieldvoice.procedure.step import Step

MOST_GATES = 3  # confirmed by one word: more are not kept in mind while the hands work


def lists(state: JobState, step: Step, listed: Sequence[str]) -> bool:
    """Whether a step is listed behind those `listed` already, and not opened by itself."""
    if state.depth == EVERY_STEP or step.name in listed:
        return False
    if state.procedure.destination(step, None) is None:
        return False
    return kinds.plain(state, step) or _joins(state, step, listed)


def _joins(state: JobState, step: Step, listed: Sequence[str]) -> bool:
    """Whether a gate is confirmed by the same word as the next one of its stage."""
    if "gates" in state.prompted or not kinds.bare_gate(state, step):
        return False
    ahead, before = _prompted_next(state, step), len(gates(state, listed))
    if ahead is None or before + 2 > MOST_GATES:
        return False
    return kinds.bare_gate(state, ahead) or (not before and kinds.gate_before_hold(state, ahead))


def _prompted_next(state: JobState, step: Step) -> Step | None:
    """The next step of the same stage that is prompted by itself."""
    seen, name = {step.name}, state.procedure.destination(step, None)
    while name is not None and name not in seen:
        seen.add(name)
        ahead = state.procedure.step(name)
        if ahead.stage != step.stage:
            return None
        if not conditions.passed_over(state, ahead) and not kinds.plain(state, ahead):
            return ahead
        name = state.procedure.destination(ahead, None)
    return None


def gates(state: JobState, names: Sequence[str]) -> list[str]:
    """Those of the steps that are gates."""
    return [name for name in names if state.procedure.step(name).gate]


def mark(turn: Turn) -> None:
    """The step after the list is dealt with: each step of the list is done, by the same line."""
    for name in turn.state.listed:
        turn.emit(e.StepDone(name, turn.line, listed=True))


def asks_first(turn: Turn) -> bool:
    """Ask about the listed steps before the one behind them is left undone."""
    if not turn.state.listed:
        return False
    turn.refuse(f"First what comes before it. {words(turn)} Say list done, or not done.")
    return True


def words(turn: Turn) -> str:
    """The listed steps in their order, to be read aloud: "1, change the oil. 2, ..."."""
    said = [brief(turn.state, turn.now, name) for name in turn.state.listed]
    if len(said) == 1:
        return f"{said[0][0].upper()}{said[0][1:]}."
    return " ".join(f"{number}, {text}." for number, text in enumerate(said, 1))


def on_screen(state: JobState, now: datetime) -> str:
    """What is done with the open step; empty when nothing is."""
    said = "; ".join(brief(state, now, name) for name in state.listed)
    return f"Before it: {said}" if said else ""


def brief(state: JobState, now: datetime, name: str) -> str:
    """What a listed step says, as part of a list."""
    said = prompts.fill(state.procedure.step(name).say, state, now).rstrip(".")
    return said[:1].lower() + said[1:]
