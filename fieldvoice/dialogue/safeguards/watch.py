"""Timers that a procedure runs beside its steps, a fire watch: ended early only for a reason."""

from __future__ import annotations

from dataclasses import replace

from fieldvoice.dialogue import prompts
from fieldvoice.dialogue.turn import Turn
from fieldvoice.jobstate import events as e
from fieldvoice.jobstate import timers
from fieldvoice.jobstate.state import JobState
from fieldvoice.jobstate.timers import Timer, say_duration
from fieldvoice.language import intents as i

Ends = i.StopTimer | i.FinishJob


def running(state: JobState, label: str | None = None) -> list[Timer]:
    """The timers of the procedure's own that run beside its steps: all, or the one of a label."""
    own = state.procedure.beside
    return [t for t in timers.running(state.timers.values())
            if t.label in own and label in (None, t.label)]


def asks(turn: Turn, intent: Ends) -> bool:
    """Ask for the reason when what is wanted would cut such a timer short."""
    found = concerned(turn.state, intent)
    if not found:
        return False
    if turn.line is None or turn.state.question is not None:
        turn.say("prompt", f"{_left(turn, found)} Stay until then.")
        return True
    turn.emit(e.Asked(turn.line, "reason", intent.to_dict()))
    open_step = turn.state.open_step
    still = isinstance(intent, i.FinishJob) and open_step is not None and not open_step.ending
    step = f"Step {prompts.step_words(turn.state)} is still open. " if still else ""
    turn.ask(f"{step}{_left(turn, found)} What is the reason to end it early? Or say no.")
    return True


def asks_whether(turn: Turn, intent: Ends, reason: str, said: str) -> None:
    """The reason is there: ask once more, as for every step that protects."""
    assert turn.line is not None
    found = concerned(turn.state, intent)
    turn.emit(e.Asked(turn.line, "gate", replace(intent, reason=reason).to_dict()))
    names = " and ".join(t.label for t in found)
    turn.ask(f"It protects you and the house. {_left(turn, found)} Cut the {names} short{said}? "
             "Say yes or no.")


def cut_short(turn: Turn, intent: Ends) -> None:
    """End what the intent concerns, with its reason in the log."""
    for timer in concerned(turn.state, intent):
        left = say_duration(timer.remaining(turn.now))
        turn.emit(e.TimerStopped(timer.label, turn.line, intent.reason))
        turn.answer(f"{timer.label.capitalize()} cut short, {left} before its end.")


def again(state: JobState, intent: Ends) -> str:
    """The open question once more."""
    names = " and ".join(t.label for t in concerned(state, intent)) or "timer"
    if intent.reason:
        return f"Cut the {names} short: {intent.reason}? Say yes or no."
    return f"What is the reason to end the {names} early? Or say no."


def concerned(state: JobState, intent: Ends) -> list[Timer]:
    """The timers that it would cut short."""
    return running(state, intent.label if isinstance(intent, i.StopTimer) else None)


def _left(turn: Turn, found: list[Timer]) -> str:
    return " ".join(f"The {t.label} has {say_duration(t.remaining(turn.now))} to go."
                    for t in found)
