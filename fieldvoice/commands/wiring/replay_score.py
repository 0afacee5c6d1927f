"""How the lines of a recorded job were heard, compared with what was said."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field

from fieldvoice.language.intents import Intent, NotUnderstood

# what a skip, an early end, a jump, or a test of another day is answered with
_FOLLOWS = ("reason", "gate", "finish", "jump", "carry")


@dataclass
class Score:
    """How the lines of a job were heard, and what the hearing cost."""

    counts: Counter[str] = field(default_factory=Counter)
    sound_s: float = 0.0
    decoding_s: float = 0.0  # processor time


def judged(said: Intent, heard: Intent, outcome: str, asked: str = "") -> str:
    """How a line went: "right", "asked back", "not taken" (nothing done) or "wrong".

    `asked`: why the line was answered with a question; one that follows from what the line means
    does not doubt the hearing. A line that is not for us is right when nothing was done about it.
    """
    if outcome == "asked-back" and asked not in _FOLLOWS:
        return "asked back"
    if heard == said:
        return "right"
    if isinstance(said, NotUnderstood) and (
        isinstance(heard, NotUnderstood) or outcome == "ignored"
    ):
        return "right"
    return "wrong" if outcome in ("accepted", "asked-back") else "not taken"
