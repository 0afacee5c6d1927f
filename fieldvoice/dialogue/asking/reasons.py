"""A reason that was asked for: words that mean nothing else, or another command."""

from __future__ import annotations

from fieldvoice.dialogue import leaving
from fieldvoice.dialogue.asking.asides import close, not_taken
from fieldvoice.dialogue.confidence import Decision
from fieldvoice.dialogue.order import answers as order
from fieldvoice.dialogue.safeguards import watch
from fieldvoice.dialogue.turn import Heard, Turn
from fieldvoice.language import intents as i


def skipping(turn: Turn, heard: Heard, waiting: i.Intent) -> i.Intent | None:
    """Why a step is left undone; one that was not heard for certain is read back."""
    reason = _reason(turn, heard, waiting)
    if not isinstance(reason, str):
        return reason
    sure = isinstance(heard.intent, i.Skip | i.Because) and turn.decision is Decision.ACCEPT
    leaving.skip_for(turn, reason, sure=sure or heard.confidence is None)
    return None


def ending(turn: Turn, heard: Heard, waiting: i.Intent) -> i.Intent | None:
    """Why a timer is cut short."""
    reason = _reason(turn, heard, waiting)
    if not isinstance(reason, str):
        return reason
    assert isinstance(waiting, watch.Ends)
    said = ", with what you said as the reason" if reason == leaving.KEPT else f": {reason}"
    watch.asks_whether(turn, waiting, reason, said)
    return None


def _reason(turn: Turn, heard: Heard, waiting: i.Intent) -> str | i.Intent | None:
    """The reason, with the question closed; else what is still to be done of the line.

    A choice that the step offers is what it is. Any other command is no reason.
    """
    intent = heard.intent
    if isinstance(intent, i.Choose) and turn.decision is Decision.ACCEPT and _offered(turn, intent):
        close(turn, "replaced")
        return intent
    reason = order.reason_meant(turn.state, leaving.reason_in(heard))
    if reason is None:
        not_taken(turn, heard, waiting)
        return None
    close(turn, "yes")
    return reason


def _offered(turn: Turn, intent: i.Choose) -> bool:
    step = turn.state.open_step
    return step is not None and step.way(intent.option) is not None
