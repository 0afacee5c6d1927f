"""A fact that is asked for, or all that are known."""

from __future__ import annotations

from fieldvoice.dialogue.facts import words
from fieldvoice.dialogue.turn import Turn
from fieldvoice.language import intents as i
from fieldvoice.quantity.facts import called, facts


def fact(turn: Turn, intent: i.AskFact) -> None:
    """One fact, or how many are known with the list on the screen."""
    known = turn.state.facts
    if intent.fact is None:
        _all(turn)
    elif intent.fact in known:
        turn.say("answer", *(f"{called(intent.fact).capitalize()}: {told}." for told in
                             (words.shown(intent.fact, known[intent.fact]),
                              words.spoken(intent.fact, known[intent.fact]))))
    else:
        turn.refuse(f"The {called(intent.fact)} was not told. "
                    f"Say, for example: {facts()[intent.fact].said}.")


def _all(turn: Turn) -> None:
    known = turn.state.facts
    if not known:
        turn.answer("I was told no facts yet. Say, for example: "
                    f"{facts()['refrigerant'].said}.")
        return
    told = [f"{called(name)} {words.spoken(name, value)}" for name, value in known.items()]
    spoken = f"{'; '.join(told[:4])}{'; and more' if len(told) > 4 else ''}."
    listed = "\n".join(f"  {called(n)}: {words.shown(n, v)}" for n, v in known.items())
    turn.say("answer", f"{len(known)} facts:\n{listed}", spoken[0].upper() + spoken[1:])
