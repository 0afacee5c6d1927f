"""After a restart of the computer: is its clock right? Timers count only once that is answered."""

from __future__ import annotations

from datetime import timedelta

from fieldvoice.dialogue.times import passing
from fieldvoice.dialogue.turn import Turn
from fieldvoice.jobstate import events as e
from fieldvoice.jobstate.records import ClockDoubt
from fieldvoice.jobstate.state import JobState
from fieldvoice.jobstate.timers import say_duration
from fieldvoice.language import intents as i
from fieldvoice.quantity.counted import counted

ABOUT = "clock"  # why the question is asked
_NAMED = 3  # timers in one question; more are counted


def arises(turn: Turn) -> None:
    """Put the question, where something runs; a clock behind the log is wrong without one."""
    doubt = turn.state.clock_doubt
    if doubt is None or turn.state.finished:
        return
    for asked in [q for q in turn.state.questions if q.why == ABOUT]:  # of an earlier restart
        turn.emit(e.Answered(asked.seq, "replaced"))
    if doubt.behind:
        turn.say("alert", f"The computer was restarted and its clock is wrong: {_shown(doubt)} was "
                          "before the last line of this job.")
        turn.emit(e.ClockJudged(right=False))
        passing.stop_untimed(turn)
        return
    turn.emit(e.Asked(0, ABOUT, i.Yes().to_dict()))  # no line brought it
    turn.ask(question(turn.state))


def question(state: JobState) -> str:
    """The question as it is put: what the clock shows, and what that makes of the timers."""
    doubt = state.clock_doubt
    if doubt is None:
        return "Is the computer's clock right? Say yes or no."
    return (f"The computer was restarted. By its clock, {_shown(doubt)}, {_ran(doubt)}. "
            "Is that clock right? Say yes or no.")


def _shown(doubt: ClockDoubt) -> str:
    hour, half_day = (doubt.clock.hour - 1) % 12 + 1, "AM" if doubt.clock.hour < 12 else "PM"
    return f"{hour}:{doubt.clock.minute:02d} {half_day}"


def _ran(doubt: ClockDoubt) -> str:
    """What has run, and how long, as one clause."""
    told = [f"{what} has run {say_duration(timedelta(seconds=seconds))}"
            for what, seconds in doubt.ran.items()]
    more = [counted(len(told) - _NAMED, "more runs", "more run")] if len(told) > _NAMED else []
    return " and ".join([*told[:_NAMED], *more])


def right(turn: Turn, _waiting: i.Intent) -> i.Intent | None:
    """The clock is right: the timers count by it."""
    turn.emit(e.ClockJudged(right=True, line=turn.line))
    turn.answer("Then it counts.")
    passing.pass_time(turn)
    return None


def wrong(turn: Turn, _waiting: i.Intent) -> None:
    """The clock is wrong: nobody knows how long the timers ran, so none of them counts."""
    turn.emit(e.ClockJudged(right=False, line=turn.line))
    passing.stop_untimed(turn)
