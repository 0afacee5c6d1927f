"""A hold shorter than the procedure's: for a reason, and never against a criterion of the site."""

from __future__ import annotations

from datetime import timedelta

from fieldvoice.dialogue.turn import Turn
from fieldvoice.jobstate import events as e
from fieldvoice.jobstate.state import JobState
from fieldvoice.jobstate.timers import HOLD, Timer, say_duration
from fieldvoice.language import intents as i
from fieldvoice.procedure.step import Hold

SHORTEST = timedelta(minutes=1)  # two readings a minute apart are the least that can differ


def allows(turn: Turn, hold: Hold, wanted: timedelta, reason: str | None) -> bool:
    """Whether a shorter hold may begin; refuses it, or asks for its reason, where it may not."""
    limit = turn.state.limit(hold.duration)
    least = _least(turn.state, hold)
    if _settled(turn.state, hold.duration):
        turn.refuse(f"This site asks for {least} ({limit.source}). Shorter does not count. "
                    "Say start the hold, or skip with a reason.")
        return False
    if wanted < SHORTEST:
        turn.refuse("Less than a minute shows nothing. Say start the hold.")
        return False
    if reason is None:
        assert turn.line is not None
        turn.emit(e.Asked(turn.line, "reason", i.StartHold(wanted).to_dict()))
        turn.ask(question(turn.state, wanted))
        return False
    return True


def question(state: JobState, wanted: timedelta | None) -> str:
    """The question for the reason."""
    step = state.open_step
    if step is None or step.hold is None or wanted is None:
        return "Who says so? Say the reason, or no."
    limit = state.limit(step.hold.duration)
    least = _least(state, step.hold)
    return (f"The hold is {least} ({limit.source}). Who asks for {say_duration(wanted)}? "
            "For example: by the unit's manual. Or say no.")


def said(state: JobState, hold: Hold) -> str:
    """The own length of the hold that runs or ran, for its verdict; empty: the procedure's own."""
    timer = _own(state, hold)
    if timer is None or timer.own_reason is None:
        return ""
    least = _least(state, hold)
    own = say_duration(timedelta(seconds=timer.seconds))
    return f"Held {own} instead of {least}: {timer.own_reason}."


def in_force_s(state: JobState, hold: Hold) -> float:
    """The length that the verdict asks for, seconds: its own where that was given a reason."""
    timer = _own(state, hold)
    return state.limit_si(hold.duration) if timer is None else timer.changes[0].seconds


def _least(state: JobState, hold: Hold) -> str:
    """The length that the procedure asks for, in words."""
    return say_duration(timedelta(seconds=state.limit_si(hold.duration)))


def _own(state: JobState, hold: Hold) -> Timer | None:
    """The timer of this hold where it was given a length of its own, and is still the shorter."""
    timer = state.timers.get(HOLD)
    step = state.procedure.by_name.get(timer.hold or "") if timer is not None else None
    if timer is None or step is None or step.hold != hold or timer.own_reason is None:
        return None
    return timer if timer.seconds < state.limit_si(hold.duration) else None


def _settled(state: JobState, limit: str) -> bool:
    """Whether the site has said how long: by a criterion it chose, or by the length itself."""
    chosen = state.facts.get("criterion")
    criteria = [c for c in state.procedure.criteria.values()
                if chosen in (c.name, c.document)] if chosen else []
    return limit in state.facts or any(s.name == limit for c in criteria for s in c.settings)
