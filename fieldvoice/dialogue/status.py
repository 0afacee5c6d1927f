"""Where the job stands, why a step is there, and what can be said now."""

from __future__ import annotations

from datetime import datetime, timedelta

from fieldvoice.dialogue import holds, pending_question, prompts, queries
from fieldvoice.dialogue.turn import Turn
from fieldvoice.jobstate.events import PRACTICE
from fieldvoice.jobstate.timers import say_ago
from fieldvoice.quantity.counted import counted
from fieldvoice.quantity.quantities import speakable

LONG_BREAK = timedelta(minutes=30)  # after it nobody remembers all of what was done
MOST_READINGS = 6  # that are shown then
TESTS = {"nitrogen": "nitrogen test", "decay": "standing test"}  # verdicts worth telling again


def where(turn: Turn) -> None:
    """Stage, step, timers and the last reading."""
    turn.answer(standing(turn))


def standing(turn: Turn) -> str:
    """Where the job stands, in a few sentences."""
    state = turn.state
    step = state.open_step
    if step is None:
        return f"The job is finished: {(state.ending or '').replace('-', ' ')}."
    parts = [f"{state.procedure.stages[step.stage].title}, step {step.name.replace('-', ' ')}."]
    last = state.last()
    if last is not None:
        name = speakable(last.quantity)
        parts.append(f"Last {name} {prompts.shown(last)}, {queries.ago(turn, last)}.")
    parts.append(holds.all_left(turn))
    if state.open_note is not None:
        parts.append("A note is open. Say end note.")
    return " ".join(part for part in parts if part)


def goes_on(turn: Turn, stopped: datetime | None) -> None:
    """Where the job stands, when work goes on; after a long break also what was done before.

    Said are a few short sentences; the last reading of each quantity is on the screen.
    """
    job = "Practice job" if turn.state.mode == PRACTICE else "Job"
    said = f"{job} {turn.state.job} goes on. {standing(turn)}"
    if stopped is None or turn.now - stopped < LONG_BREAK or turn.state.open_step is None:
        turn.answer(said)
        return
    said = f"{said} {_before(turn, stopped)}"
    last = {taken.quantity: taken for taken in turn.state.readings}
    lines = [f"{speakable(name)} {prompts.shown(taken)}, {queries.ago(turn, taken)}"
             for name, taken in list(last.items())[-MOST_READINGS:]]
    turn.say("answer", "\n  ".join([said, *lines]), said)


def _before(turn: Turn, stopped: datetime) -> str:
    """When it was stopped, how much was done, what the tests said and what was left open."""
    state = turn.state
    done = [left for left in state.trail if not left.skipped]
    verdicts = {r.about: f"{TESTS[r.about]} {r.verdict.replace('-', ' ')}" for r in state.results
                if r.about in TESTS}
    told = [f"{counted(len(done), 'step')} done", *verdicts.values()]
    if state.left_open:
        told.append(f"{len(state.left_open)} left open")
    if state.notes:
        told.append(counted(len(state.notes), "note"))
    whole = timedelta(minutes=round((turn.now - stopped) / timedelta(minutes=1)))
    return f"Stopped {say_ago(whole)}: {', '.join(told)}."


def what_now(turn: Turn) -> None:
    """What the open step, or the open question, waits for."""
    if turn.state.question is not None:
        turn.say("question", pending_question.again(turn.state))
        return
    step, hold = turn.state.open_step, turn.state.hold
    if step and hold and hold.running:
        turn.answer(holds.all_left(turn))
    elif step and not turn.state.unacknowledged():
        prompts.prompt(turn)
    turn.answer(prompts.waits_for(turn.state))


def repeat(turn: Turn) -> None:
    """Say the last burst of replies again."""
    if turn.state.question is not None:
        turn.say("question", pending_question.again(turn.state))
    elif turn.state.last_said:
        for said in turn.state.last_said:
            turn.say(said.tone, said.text)
    else:
        what_now(turn)


def why(turn: Turn) -> None:
    """Explain the open step."""
    step = turn.state.open_step
    words = prompts.fill(step.why, turn.state, turn.now) if step else ""
    if words:
        turn.answer(words)
    else:
        turn.refuse("The procedure gives no reason here. The equipment's instructions decide.")


def help_now(turn: Turn) -> None:
    """Three things that can be said now."""
    first, second, third = prompts.examples(turn.state)
    turn.answer(f"You can say: {first}; {second}; or {third}.")
