"""The readings that a hold asks for: at its minutes, at its end, and now and then after it."""

from __future__ import annotations

from fieldvoice.dialogue.turn import Turn
from fieldvoice.jobstate import events as e
from fieldvoice.jobstate import timers
from fieldvoice.jobstate.state import JobState
from fieldvoice.jobstate.timers import HOLD, Timer
from fieldvoice.procedure.step import Hold
from fieldvoice.quantity.quantities import speakable


def call(turn: Turn, *, after_end: bool = True) -> bool:
    """Ask for the timed reading of the hold when its minute has come; returns whether it has.

    Without `after_end` what a hold that is over still needs is not said: something else asks it.
    """
    step, timer = turn.state.open_step, turn.state.hold
    if not (step and step.hold and step.hold.quantity and timer):
        return False
    if timer.finished:
        _ask_again(turn, timer, aloud=after_end)
        return False
    last = turn.state.hold_readings()
    newest = last[-1].minute if last and last[-1].minute is not None else -1.0
    mark = timers.mark_to_call(step.hold, timer, turn.now, newest)
    if mark is None:
        return False
    turn.emit(e.Reminded(timer.label, f"{mark:g} min"))
    when = "" if mark == 0 else f"Minute {mark:g}. "
    turn.say("alert" if mark else "prompt", f"{when}{_name(step.hold)}?", aloud=True)
    return True


def of(state: JobState, timer: Timer) -> list[float]:
    """The minutes at which a timer's hold asks for a reading; none for any other timer."""
    step, hold = state.open_step, state.hold
    if hold is None or hold.seq != timer.seq or not (step and step.hold and step.hold.quantity):
        return []
    return timers.marks(step.hold, timer)


def ask_final(turn: Turn) -> None:
    """Ask for the reading that closes a judged hold, once, when it ran out in this turn."""
    step, hold = turn.state.open_step, turn.state.hold
    ran_out = any(isinstance(v, e.TimerFinished) and v.label == HOLD for v in turn.happened)
    if ran_out and step and step.hold and step.hold.judge and hold and hold.finished:
        wanted = " and ".join(speakable(q) for q in missing(turn.state))
        if wanted:
            turn.say("prompt", f"Final {wanted}?", aloud=True)


def _ask_again(turn: Turn, timer: Timer, *, aloud: bool) -> None:
    """The hold is over and nobody has given the closing readings: ask now and then."""
    wanted, mark = missing(turn.state), timers.overdue_to_call(timer, turn.now)
    just_over = any(isinstance(v, e.TimerFinished) for v in turn.happened)
    if wanted and mark is not None and not just_over:
        turn.emit(e.Reminded(timer.label, f"{mark:g} min"))
        names = " and ".join(speakable(q) for q in wanted)
        if aloud:
            turn.say("alert", f"The hold is over. I still need the {names}.")


def _name(hold: Hold) -> str:
    return speakable(hold.quantity or "reading").capitalize()


def missing(state: JobState) -> list[str]:
    """Readings that the verdict still waits for: those not taken since the time was over."""
    step, timer = state.open_step, state.hold
    if step is None or step.hold is None or timer is None:
        return []
    given = {t.quantity for t in state.readings if t.at >= timer.due and not t.now.unfit}
    return [q for q in step.hold.closing if q not in given]
