"""Holds and timers: start, stop, lengthen, what is left, and the verdict at a hold's end."""

from __future__ import annotations

from datetime import timedelta

from fieldvoice.dialogue import hold_verdict, prompts, steps
from fieldvoice.dialogue.depth import listing
from fieldvoice.dialogue.order import own_length
from fieldvoice.dialogue.safeguards import watch
from fieldvoice.dialogue.times import marks
from fieldvoice.dialogue.turn import Turn
from fieldvoice.jobstate import events as e
from fieldvoice.jobstate import timers
from fieldvoice.jobstate.timers import HOLD, Timer, say_duration
from fieldvoice.language import intents as i
from fieldvoice.procedure.step import Hold
from fieldvoice.quantity.quantities import speakable


def start_hold(turn: Turn, intent: i.StartHold) -> None:
    """Start the hold of the open step."""
    state = turn.state
    step = state.open_step
    assert step is not None
    if step.hold is None:
        turn.refuse("This step has no hold. For a timer say: start a ten-minute timer.")
    elif state.unacknowledged() or state.unmet():
        turn.refuse(prompts.waits_for(state))
    elif state.hold is not None and state.hold.running:
        left = say_duration(state.hold.remaining(turn.now))
        turn.refuse(f"The hold already runs. {left} left.")
    else:
        _begin(turn, step.hold, intent)


def _begin(turn: Turn, hold: Hold, intent: i.StartHold) -> None:
    least = timedelta(seconds=turn.state.limit_si(hold.duration))
    length = intent.duration or least
    shorter = length < least
    if shorter and not own_length.allows(turn, hold, length, intent.reason):
        return
    due = turn.now + length
    turn.emit(e.TimerStarted(HOLD, length.total_seconds(), due.isoformat(), True, turn.line,
                             intent.reason if shorter else None))
    listing.mark(turn)
    turn.answer(f"Hold started: {say_duration(length)}{f', {intent.reason}' if shorter else ''}.")
    marks.call(turn)


def start_timer(turn: Turn, intent: i.StartTimer) -> None:
    """Start a timer of the technician's own."""
    if intent.duration <= timedelta():
        turn.refuse("A timer needs some time. Say, for example: start a ten-minute timer.")
        return
    label = timers.free_label(intent.label, turn.state.timers.values())
    seconds = intent.duration.total_seconds()
    due = (turn.now + intent.duration).isoformat()
    turn.emit(e.TimerStarted(label, seconds, due, False, turn.line))
    turn.answer(f"{label.capitalize()}: {say_duration(intent.duration)}.")


def find(turn: Turn, label: str | None) -> Timer | None:
    """The running timer meant; refuses when there is none of that name."""
    now_running = timers.running(turn.state.timers.values())
    if label is None and now_running:
        return max(now_running, key=lambda t: t.changes[0].seq)
    named = [t for t in now_running if label is not None and t.label.startswith(label)]
    if named:
        return named[-1]
    there = ", ".join(t.label for t in now_running)
    what = f"No {label} timer runs." if label not in (None, HOLD) else "No hold runs."
    what = "No timer runs." if label is None else what
    turn.refuse(f"{what} Running: {there}." if there else what)
    return None


def stop(turn: Turn, intent: i.StopTimer) -> None:
    """Stop a timer or the hold; one that the procedure wants run to its end takes a reason."""
    timer = find(turn, intent.label)
    if timer is not None and not watch.asks(turn, i.StopTimer(timer.label)):
        left = say_duration(timer.remaining(turn.now))
        turn.emit(e.TimerStopped(timer.label, turn.line))
        again = " Say start the hold to begin it again." if timer.label == HOLD else ""
        turn.answer(f"Stopped the {timer.label}, {left} before its end.{again}")


def add_time(turn: Turn, intent: i.AddTime) -> None:
    """Lengthen a timer or the hold."""
    hold = turn.state.hold
    over = hold if hold and hold.finished and intent.label in (None, HOLD) else None
    timer = over or find(turn, intent.label)
    if timer is not None:
        extend(turn, timer, intent.duration)
        left = say_duration(turn.state.timers[timer.label].remaining(turn.now))
        turn.answer(f"{timer.label.capitalize()}: {left} left now.")


def extend(turn: Turn, timer: Timer, more: timedelta) -> None:
    """Give a timer more time, from now when it had run out."""
    due = max(timer.due, turn.now) + more
    turn.emit(e.TimerExtended(timer.label, more.total_seconds(), due.isoformat(), turn.line))


def how_long_left(turn: Turn, intent: i.HowLongLeft) -> None:
    """Say what is left on one timer, or on all."""
    if intent.label is None:
        turn.answer(all_left(turn) or "No timer runs.")
        return
    timer = find(turn, intent.label)
    if timer is not None:
        turn.answer(f"{timer.label.capitalize()}: {say_duration(timer.remaining(turn.now))} left.")


def all_left(turn: Turn) -> str:
    """What is left on every running timer; empty when none runs."""
    unsure = "" if turn.state.clock_doubt is None else ", if the clock is right"
    return " ".join(
        f"{t.label.capitalize()}: {say_duration(t.remaining(turn.now))} left{unsure}."
        for t in timers.running(turn.state.timers.values()) if t.due > turn.now
    )


# --- the verdict --------------------------------------------------------------------------------


def close_hold(turn: Turn) -> bool:
    """Judge the hold when its time is over; returns whether a verdict was given."""
    step, timer = turn.state.open_step, turn.state.hold
    if not (step and step.hold and step.hold.judge and timer and timer.finished):
        return False
    if marks.missing(turn.state):
        turn.say("prompt", f"And the {speakable(marks.missing(turn.state)[0])}?", aloud=True)
        return False
    judged = verdict_now(turn, step.hold)
    if judged is None:
        return False
    turn.emit(e.VerdictGiven(judged.about, judged.verdict, dict(judged.figures), step.name,
                             turn.line))
    way = step.way(judged.verdict)
    turn.say("answer", judged.words, judged.spoken)
    if way is not None and way.to == step.name:
        hold_on(turn, timer, judged)
    else:
        steps.leave(turn, judged.verdict, judged.reason)
    return True


def verdict_now(turn: Turn, hold: Hold) -> hold_verdict.Judged | None:
    """The verdict from the hold's readings so far; refuses when they cannot be judged."""
    try:
        return hold_verdict.judge(turn.state, hold, turn.state.hold_readings())
    except hold_verdict.TradeError as error:
        turn.refuse(f"No verdict: {error}.")
        return None


def hold_on(turn: Turn, timer: Timer, judged: hold_verdict.Judged) -> None:
    """A verdict that leads back to its own step: the same hold goes on for longer."""
    more = timedelta(minutes=max(judged.minutes_more or 1.0, 1.0))
    assert timer.hold is not None
    turn.emit(e.BranchTaken(timer.hold, judged.verdict, timer.hold, judged.reason, turn.line))
    extend(turn, timer, more)
    turn.say("prompt", f"The hold goes on: {say_duration(more)} more.", aloud=True)
