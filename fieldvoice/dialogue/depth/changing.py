"""Saying more or less of the work, by voice at any time."""

from __future__ import annotations

from fieldvoice.dialogue import steps
from fieldvoice.dialogue.turn import Turn
from fieldvoice.jobstate import depths
from fieldvoice.jobstate import events as e
from fieldvoice.language import intents as i

_SAID = {
    depths.EVERY_STEP: "Every step.",
    depths.READINGS_AND_HOLDS: "Readings and holds. For the steps between say list.",
    depths.LIMITS_ONLY: "Limits only. I speak up for timers, limits and cautions.",
}


def change_depth(turn: Turn, intent: i.ChangeDepth) -> None:
    """Say more or less from here on; what was listed comes one by one where all is said again."""
    if intent.depth == turn.state.depth:
        turn.answer(_SAID[intent.depth])
        return
    turn.emit(e.DepthChanged(intent.depth, sorted(turn.state.prompted), turn.line))
    turn.answer(_SAID[intent.depth])
    if intent.depth == depths.EVERY_STEP and _nothing_done_yet(turn):
        steps.open_step(turn, turn.state.listed[0], alone=True)


def _nothing_done_yet(turn: Turn) -> bool:
    """Whether the open step can be put off for what is listed before it."""
    state, step = turn.state, turn.state.open_step
    if not state.listed or state.question is not None or step is None:
        return False
    return not any(state.here(need.quantity) for need in step.needs)


def prompt_kind(turn: Turn, intent: i.PromptKind) -> None:
    """Steps of a kind keep their own prompt, or not any more."""
    kinds = turn.state.prompted - {intent.kind}
    if intent.prompted:
        kinds |= {intent.kind}
    turn.emit(e.DepthChanged(turn.state.depth, sorted(kinds), turn.line))
    how = "each with its own prompt" if intent.prompted else "no prompt of their own"
    turn.answer(f"{intent.kind.capitalize()}: {how}.")
