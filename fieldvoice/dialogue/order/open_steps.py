"""What was left undone: told on request and where the job ends."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from fieldvoice.dialogue.turn import Turn
from fieldvoice.jobstate.records import StepExit
from fieldvoice.jobstate.state import JobState
from fieldvoice.quantity.counted import counted

MOST_NAMED = 4  # aloud


def ask_skipped(turn: Turn) -> None:
    """Name the steps that were left undone, the protective ones first, each with its reason."""
    told = listed(turn.state)
    if told is None:
        turn.answer("Nothing was left undone.")
        return
    shown, aloud = told
    reasons = list(dict.fromkeys(left.reason for left in _protective_first(turn.state)))
    why = "; ".join(reasons[:MOST_NAMED])
    turn.say("answer", shown, f"{aloud} {why[:1].upper()}{why[1:]}.")


def listed(state: JobState) -> tuple[str, str] | None:
    """The list for the screen and for the ear; None when nothing was left undone."""
    by_name = state.procedure.by_name
    left = _protective_first(state)
    if not left:
        return None
    named = [line for protective in (True, False) for line in _by_reason(
        [x for x in left if state.procedure.protects(by_name[x.step]) == protective], protective)]
    count = f"{counted(len(left), 'step')} left undone"
    aloud = [x.step.replace("-", " ") for x in left[:MOST_NAMED]]
    more = f", and {len(left) - MOST_NAMED} more on the screen" if len(left) > MOST_NAMED else ""
    return f"{count}.\n" + "\n".join(f"  {n}" for n in named), f"{count}: {', '.join(aloud)}{more}."


def _protective_first(state: JobState) -> list[StepExit]:
    by_name = state.procedure.by_name
    left = [x for x in state.left_open if x.step in by_name]
    return sorted(left, key=lambda x: not state.procedure.protects(by_name[x.step]))


def _by_reason(left: Sequence[StepExit], protective: bool) -> Iterator[str]:
    """One line a reason; those that protect are marked."""
    mark = " (protective)" if protective else ""
    for reason in dict.fromkeys(x.reason for x in left):
        names = [x.step.replace("-", " ") for x in left if x.reason == reason]
        yield f"{', '.join(names)}{mark}: {reason}"
