"""What the technician says of how the refrigerant burns, held against the job's refrigerant."""

from __future__ import annotations

from collections.abc import Mapping

from fieldvoice.dialogue.turn import Turn
from fieldvoice.jobstate import events as e
from fieldvoice.jobstate.state import JobState
from fieldvoice.language import intents as i
from fieldvoice.trade.errors import TradeError
from fieldvoice.trade.refrigerant.flammable_charge import MILDEST_FIRST, burning, stricter
from fieldvoice.trade.refrigerant.refrigerants import refrigerant

# Words that say too little: they may mean more than one of the choices beside them.
SAYS_TOO_LITTLE: Mapping[str, tuple[str, ...]] = {
    "flammable": ("mildly-flammable", "highly-flammable"),
}


def check_site(site: Mapping[str, str]) -> None:
    """Refuse facts that contradict each other; raises TradeError naming both."""
    name = site.get("refrigerant", "")
    ours = burning(name)
    for key, said in site.items():
        if said in MILDEST_FIRST and ours not in (None, said):
            raise TradeError(f"{key}={said} contradicts refrigerant={name}, {_class_of(name)}: "
                             "leave one of them out, and read the plate when asked")


def asks_which(turn: Turn, option: str) -> bool:
    """Ask which of the step's choices is meant when a word could mean several of them."""
    step = turn.state.open_step
    meant = [w for w in step.choices if w.name in SAYS_TOO_LITTLE.get(option, ())] if step else []
    if not meant:
        return False
    asked = " Or ".join(f"{w.name.replace('-', ' ')}{w.text and ', ' + w.text}?" for w in meant)
    turn.ask(asked[0].upper() + asked[1:])
    return True


def asks_whether(turn: Turn, option: str) -> bool:
    """Ask once more when a choice contradicts the refrigerant of the job."""
    if not _contradicts(turn.state, option) or turn.line is None:
        return False
    turn.emit(e.Asked(turn.line, "contradiction", i.Choose(option).to_dict()))
    turn.ask(question(turn.state, option))
    return True


def question(state: JobState, option: str) -> str:
    """The contradiction, as it is asked about."""
    name = state.facts["refrigerant"]
    said = option.replace("-", " ")
    return (f"{refrigerant(name).name} is {_class_of(name)}, and you said {said}. "
            "Does the plate say so? Say yes or no.")


def strictest(state: JobState, option: str) -> tuple[str, str]:
    """What holds when the plate contradicts the job's refrigerant, and why."""
    name = state.facts["refrigerant"]
    ours = burning(name)
    strict = option if ours is None else stricter(option, ours)
    broader = [word for word, several in SAYS_TOO_LITTLE.items() if strict in several]
    step = state.open_step
    held = next((o for o in (strict, *broader) if step and step.way(o)), option)
    return held, (f"said {option.replace('-', ' ')}, but {refrigerant(name).name} is "
                  f"{_class_of(name)}: the stricter holds")


def _contradicts(state: JobState, option: str) -> bool:
    return option in MILDEST_FIRST and burning(state.facts.get("refrigerant", "")) not in (
        None, option)


def _class_of(name: str) -> str:
    """Its class in words: "class A2L, mildly flammable"."""
    burns = (burning(name) or "").replace("-", " ")
    return f"class {refrigerant(name).safety_class}, {burns}"
