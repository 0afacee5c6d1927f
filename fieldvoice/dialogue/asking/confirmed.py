"""Doing what a yes confirmed."""

from __future__ import annotations

from fieldvoice.dialogue import corrections, record_reading, steps
from fieldvoice.dialogue.safeguards import watch
from fieldvoice.dialogue.turn import Turn
from fieldvoice.language import intents as i


def do(turn: Turn, intent: i.Intent) -> i.Intent | None:
    """Do what waited, where that differs from doing it unasked; else it comes back."""
    if isinstance(intent, i.Reading):
        record_reading.record(turn, intent, confirmed=True)
    elif isinstance(intent, i.Correction | i.ChangeReading):
        corrections.change(turn, intent, confirmed=True)
    elif isinstance(intent, i.Skip):
        steps.skip(turn, intent.reason or "no reason given")
    elif isinstance(intent, i.StopTimer) and intent.reason:
        watch.cut_short(turn, intent)
    elif isinstance(intent, i.FinishJob):
        _finish(turn, intent)
    else:
        return intent
    return None


def _finish(turn: Turn, intent: i.FinishJob) -> None:
    """Close the job: by its own ending where its last step has all it needs."""
    if not intent.reason and watch.asks(turn, intent):
        return
    watch.cut_short(turn, intent)
    step, state = turn.state.open_step, turn.state
    if step is not None and step.ending and not (state.unmet() or state.unacknowledged()):
        steps.leave(turn)
        return
    steps.stop_hold(turn)
    steps.finish(turn, "stopped-early")
