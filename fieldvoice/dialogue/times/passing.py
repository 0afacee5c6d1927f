"""Time passes: timers run out, and the time left on them is called out, each once."""

from __future__ import annotations

from fieldvoice.dialogue import prompts, steps
from fieldvoice.dialogue.times import marks
from fieldvoice.dialogue.turn import Turn
from fieldvoice.jobstate import events as e
from fieldvoice.jobstate import timers
from fieldvoice.jobstate.timers import HOLD, Timer, say_ago, say_duration

UNTIMED = "the computer was restarted and its clock was wrong"


def pass_time(turn: Turn) -> None:
    """Report what ran out, call out marks of the hold that have come, and the time left.

    No timer is spoken of twice in one turn: the hold's own mark goes before its time left.
    """
    if turn.state.clock_doubt is not None:
        return
    step = turn.state.step
    stop_untimed(turn)
    run_out(turn)
    marked = marks.call(turn)
    if turn.alerted and turn.state.step == step and turn.state.unacknowledged():
        turn.say("prompt", prompts.waits_for(turn.state), aloud=True)
    for timer in timers.running(turn.state.timers.values()):
        _call_left(turn, timer, aloud=not (marked and timer == turn.state.hold))


def catch_up(turn: Turn) -> None:
    """The same when work goes on: what is left was just told, and what is needed comes next."""
    if turn.state.clock_doubt is not None:
        return
    run_out(turn)
    marks.call(turn, after_end=False)
    for timer in timers.running(turn.state.timers.values()):
        _call_left(turn, timer, aloud=False)


def run_out(turn: Turn) -> None:
    """Report what ran out; before a line, too, so that it is judged at its true minute."""
    if turn.state.clock_doubt is not None:
        return
    for timer in timers.due(turn.state.timers.values(), turn.now):
        _run_out(turn, timer)


def stop_untimed(turn: Turn) -> None:
    """Stop what ran while the computer was off, where its clock was wrong afterwards."""
    gone = [timer for timer in timers.running(turn.state.timers.values())
            if timer.seq < turn.state.untimed]
    for timer in gone:
        turn.emit(e.TimerStopped(timer.label, reason=UNTIMED, untimed=True))
    if gone:
        names = " and the ".join(timer.label for timer in gone)
        again = "" if all(timer.label != HOLD for timer in gone) else (
            " Say start the hold to begin it again.")
        turn.say("alert", f"Stopped the {names}: nobody knows how long it ran.{again}")


def _run_out(turn: Turn, timer: Timer) -> None:
    of_step = turn.state.hold is not None and turn.state.hold.label == timer.label
    turn.emit(e.TimerFinished(timer.label))
    turn.say("alert", _ran_out_words(turn, timer))
    step = turn.state.open_step
    if of_step and step and step.hold and not step.hold.judge:
        if step.choices:
            turn.say("prompt", prompts.waits_for(turn.state))
        else:
            steps.leave(turn)


def _ran_out_words(turn: Turn, timer: Timer) -> str:
    late, length = turn.now - timer.due, say_duration(timer.due - timer.started)
    name = timer.label.capitalize()
    if late > timers.AWAY:
        alone = "with nobody listening" if turn.state.mode == e.RECORDING else "while away"
        return f"{name}: {length} ran out {say_ago(late)}, {alone}."
    when = f" {say_duration(late)} ago" if late >= timers.LATE else ""
    return f"{name} finished{when}: {length}."


def _call_left(turn: Turn, timer: Timer, *, aloud: bool) -> None:
    """Call out half, last minute or ten seconds; not `aloud`: that is known, and only counts."""
    mark = timers.left_to_call(timer, turn.now, marks.of(turn.state, timer))
    if mark is None:
        return
    turn.emit(e.Reminded(timer.label, mark))
    left, half = timer.remaining(turn.now), (timer.due - timer.started) / 2
    over = " half over" if mark == timers.HALF and half - left < timers.LATE else ""
    if aloud:
        turn.say("alert", f"{timer.label.capitalize()}{over}: {say_duration(left)} left.")
