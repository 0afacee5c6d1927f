"""A name that is spoken: the recognizer knows none, so it is kept as sound until it is typed."""

from __future__ import annotations

from fieldvoice.dialogue.asking import asides
from fieldvoice.dialogue.turn import Heard, Turn
from fieldvoice.jobstate import events as e
from fieldvoice.language import intents as i
from fieldvoice.quantity.facts import called, facts

ABOUT = "name"  # of the question
KEPT = "kept as sound"


def ask(turn: Turn, intent: i.TellFact) -> None:
    """Ask for the name or number that was not in the line."""
    if facts()[intent.fact].kind != "text":
        turn.refuse(f"Say it with its value, for example: {facts()[intent.fact].said}.")
    elif turn.state.question is not None:
        turn.refuse(f"One at a time. Say the {called(intent.fact)} again after.")
    else:
        assert turn.line is not None
        turn.emit(e.Asked(turn.line, ABOUT, intent.to_dict()))
        turn.ask(question(intent))


def question(intent: i.TellFact) -> str:
    """The question as it is put."""
    return f"The {called(intent.fact)}? Say or type it, or say no."


def named(turn: Turn, heard: Heard, waiting: i.Intent) -> i.TellFact | None:
    """The fact that a line names; None when it names none: a command is no name."""
    assert isinstance(waiting, i.TellFact)
    words = " ".join(heard.words.split())
    value = words if heard.source == "typed" else KEPT if heard.clip is not None else ""
    if not isinstance(heard.intent, i.NotUnderstood) or not value:
        asides.not_taken(turn, heard, waiting)
        return None
    asides.close(turn, "replaced")
    return i.TellFact(waiting.fact, value)
