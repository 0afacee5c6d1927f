"""What a job would make of a line that was heard, while no step waits for anything."""

from __future__ import annotations

from collections.abc import Sequence

from fieldvoice.dialogue.assistant import decide
from fieldvoice.dialogue.belief.clarity import CLEAR, Clarity
from fieldvoice.dialogue.belief.model import shipped
from fieldvoice.dialogue.confidence import Decision, Interpretation, interpretations
from fieldvoice.language.intents import ForUnit, NotUnderstood, Readings
from fieldvoice.language.parser import Valued, sounds_like_a_range
from fieldvoice.language.refusals import REFUSALS
from fieldvoice.quantity.plausible import surprising
from fieldvoice.quantity.resolve_reading import Resolved, resolve
from fieldvoice.session import hypotheses

_ASKED_ABOUT = {kind for kind, _ in REFUSALS.values()}


def meanings(
    ways: Sequence[tuple[str, float]], clarity: Clarity = CLEAR, sureness: float = 0.0
) -> list[Interpretation]:
    """All that a sound can mean, likeliest first; `ways`: its wordings with their shares.

    `sureness`: what this speaker's confidence is raised by.
    """
    return interpretations(hypotheses(ways), lambda intent: False, clarity=clarity,
                           model=shipped().surer(sureness))


def decision(heard: Interpretation) -> str:
    """What a job would do with a line.

    "taken": believed, and from there on treated like a typed line. "asked-back": doubted (not sure
    enough, an unusual value, a number that sounds like a range), or words that are understood only
    to be asked about, such as a range. "ignored": too unsure, or mostly words that are none of
    ours: talk to others. "lost": heard but not understood, or no words were heard.
    """
    if not heard.words:
        return "lost"
    allowed = decide(heard.intent, heard.confidence, heard.words)
    if allowed is Decision.IGNORE:
        return "ignored"
    if isinstance(heard.intent, NotUnderstood):
        return "asked-back" if heard.intent.kind in _ASKED_ABOUT else "lost"
    return "asked-back" if allowed is Decision.ASK or _doubted(heard) else "taken"


def _doubted(heard: Interpretation) -> bool:
    """Whether a value is read back however surely it was heard."""
    intent = heard.intent.said if isinstance(heard.intent, ForUnit) else heard.intent
    parts = intent.readings if isinstance(intent, Readings) else (intent,)
    values = [part for part in parts if isinstance(part, Valued)]
    return any(sounds_like_a_range(heard.words) or _unusual(value) for value in values)


def _unusual(said: Valued) -> bool:
    """Whether it is outside the usual values of its quantity, where that is clear."""
    found = resolve(said.value, said.unit, getattr(said, "quantity", None))
    return isinstance(found, Resolved) and surprising(found) is not None
