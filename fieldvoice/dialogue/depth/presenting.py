"""What is said when a step is opened, in the words that the depth asks for."""

from __future__ import annotations

from collections.abc import Iterator

from fieldvoice.dialogue import prompts
from fieldvoice.dialogue.depth import listing
from fieldvoice.dialogue.safeguards.caution_words import caution_told
from fieldvoice.dialogue.turn import Turn
from fieldvoice.jobstate.depths import EVERY_STEP
from fieldvoice.procedure.step import Step

_FOR_ALL = {2: "both", 3: "all three"}


def present(turn: Turn, *, every_caution: bool = False, after: str | None = None) -> None:
    """The cautions of the open step and of what is listed before it, then the prompt.

    Where every step is prompted, a caution that must be acknowledged waits for its word before
    anything more is said. Where less is said they come in one breath with the prompt.
    """
    step = turn.state.open_step
    if turn.state.depth == EVERY_STEP or step is None:
        prompts.present(turn, every_caution=every_caution, after=after)
        return
    for text, spoken in _cautions(turn, step, every_caution):
        turn.say("caution", text, spoken)
    _prompt(turn, step)


def _cautions(turn: Turn, step: Step, every: bool) -> Iterator[tuple[str, str | None]]:
    """Each caution once; one of a listed step only the first time in the job."""
    state = turn.state
    left = [state.procedure.step(v.step).cautions for v in state.trail if not v.skipped]
    known = {name for names in left for name in names} | state.acknowledged
    listed = [name for before in state.listed for name in state.procedure.step(before).cautions
              if name not in known]
    just_given = () if every or not left else left[-1]
    for name in dict.fromkeys([*listed, *step.cautions]):
        caution = state.procedure.cautions[name]
        if name in state.unacknowledged():
            yield f"{caution.text}\n{prompts.DEFERS}", caution.text
        elif name in step.cautions and caution.acknowledge:
            if name not in just_given:
                yield caution.text, caution_told(state, name, turn.now)
        elif name in listed or name not in just_given:
            yield caution.text, None


def _prompt(turn: Turn, step: Step) -> None:
    """The prompt: gates that one word confirms before it, and the word itself behind it."""
    gates = listing.gates(turn.state, turn.state.listed)
    for name in gates:
        said = prompts.fill(turn.state.procedure.step(name).say, turn.state, turn.now)
        turn.say("prompt", said)
    prompts.prompt(turn, listing.on_screen(turn.state, turn.now))
    if turn.state.unacknowledged():
        alone = bool(step.needs or step.hold or step.choices)
        turn.say("prompt", "Say understood." if alone else "Say understood and done.", aloud=True)
    elif gates and step.hold is None:
        turn.say("prompt", f"Say done for {_FOR_ALL[len(gates) + 1]}.")
