"""Opening, leaving and going back over steps."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta
from itertools import takewhile

from fieldvoice.dialogue import hold_verdict, prompts
from fieldvoice.dialogue.depth import conditions, listing, presenting
from fieldvoice.dialogue.facts import passing
from fieldvoice.dialogue.order import open_steps
from fieldvoice.dialogue.safeguards import room_check, watch
from fieldvoice.dialogue.turn import Turn
from fieldvoice.jobstate import events as e
from fieldvoice.jobstate.depths import EVERY_STEP
from fieldvoice.jobstate.state import JobState
from fieldvoice.jobstate.timers import HOLD, say_duration
from fieldvoice.language import intents as i
from fieldvoice.procedure.plain_way import plainly_to
from fieldvoice.procedure.step import Step

JOB_FINISHED = "Job finished."


def open_step(
    turn: Turn, name: str | None, listed: Sequence[str] = (), *, alone: bool = False
) -> None:
    """Open a step, passing over those that do not apply; cautions, then the prompt.

    Steps that the depth only lists are passed by, too: they are done with the one that is opened.
    `listed`: what is listed before it already; `alone`: the step is opened though it could be
    listed itself.
    """
    title_before = _stage_title(turn)
    before = list(listed)
    while name is not None:
        step = turn.state.procedure.step(name)
        passed = _pass_over(turn, step)
        if passed is None and not alone and listing.lists(turn.state, step, before):
            before.append(name)
            passed = turn.state.procedure.destination(step, None)
        if passed is None:
            break
        name = passed
    assert name is not None  # the check at load refuses a procedure that runs out of steps
    visit = turn.state.visits.get(name, 0) + 1
    if before:
        turn.emit(e.StepsListed(name, visit, before))
    turn.emit(e.StepOpened(step.stage, name, visit))
    title = f"{turn.state.procedure.stages[step.stage].title}."
    if turn.state.depth != EVERY_STEP and turn.heard is not None:
        turn.drop_prompts(kept=title)
    if title != f"{title_before}.":
        turn.say("prompt", title)
    presenting.present(turn)


def _stage_title(turn: Turn) -> str | None:
    step = turn.state.open_step
    return turn.state.procedure.stages[step.stage].title if step else None


def _pass_over(turn: Turn, step: Step) -> str | None:
    """The step to go on with when this one does not apply or is answered already; else None."""
    for when in step.when:
        answer = conditions.against(turn.state, when)
        if answer is not None:
            why = f"does not apply: {when.answer} is {answer}"
            turn.emit(e.StepSkipped(step.name, why))
            return turn.state.procedure.destination(step, None)
    carried = turn.state.carried.get(step.name)
    if carried is not None:
        turn.emit(e.StepSkipped(step.name, carried))
        return plainly_to(turn.state.procedure, step)
    told = passing.known_fact(turn.state, step)
    if told is not None:
        turn.emit(e.StepSkipped(step.name, told))
        return turn.state.procedure.destination(step, None)
    known = passing.known_way(turn.state, step)
    if known is None:
        return None
    way, why = known
    to = turn.state.procedure.destination(step, way.to)
    turn.emit(e.StepSkipped(step.name, why))
    turn.emit(e.BranchTaken(step.name, way.name, to or "", why))
    return to


def reopen(turn: Turn, name: str, *, present: bool = True) -> None:
    """Open a step again as the same visit: what was read in it still counts."""
    step = turn.state.procedure.step(name)
    turn.emit(e.StepOpened(step.stage, name, turn.state.visits.get(name, 1)))
    if present:
        presenting.present(turn)


def advance(turn: Turn) -> None:
    """Go on when the open step has all it needs; else say what is missing or what comes next."""
    state = turn.state
    step = state.open_step
    if step is None or state.question is not None:
        return
    if (state.unacknowledged() or state.unmet() or step.hold or step.choices
            or passing.wanted(state)):
        if not (state.hold and state.hold.running):
            turn.say("prompt", prompts.waits_for(state))
        return
    complete(turn)


def complete(turn: Turn) -> None:
    """The open step has all it needs: make its check where it has one, and go on."""
    step = turn.state.open_step
    assert step is not None
    if room_check.asks(turn):
        return
    if step.check is None:
        leave(turn)
        return
    try:
        judged = hold_verdict.check(turn.state, step.check)
    except (hold_verdict.Missing, hold_verdict.TradeError) as error:
        why = str(error).rstrip(".")
        judged = hold_verdict.Judged(step.check.kind, "not-known", f"{why}.", "", {"reason": why})
    turn.emit(e.VerdictGiven(judged.about, judged.verdict, dict(judged.figures), step.name,
                             turn.line))
    turn.say("answer", judged.words, judged.spoken)
    leave(turn, judged.verdict, judged.reason)


def leave(turn: Turn, option: str | None = None, why: str = "") -> None:
    """The open step is done: take the way of the option, or its plain way on."""
    step = turn.state.open_step
    assert step is not None
    if step.ending and watch.asks(turn, i.FinishJob()):
        return
    way = step.way(option) if option else None
    listing.mark(turn)
    turn.emit(e.StepDone(step.name, turn.line))
    _start_beside(turn, step)
    to = turn.state.procedure.destination(step, way.to if way else None)
    if step.repeat and turn.state.laps(step.name) % step.repeat.times:
        to = step.repeat.start
    if way is not None:
        turn.emit(e.BranchTaken(step.name, way.name, to or "", why, turn.line))
    _go(turn, step, to)


def _start_beside(turn: Turn, step: Step) -> None:
    """Start the timer that runs beside the next steps; one that runs already goes on."""
    if step.timer is None:
        return
    known = turn.state.timers.get(step.timer.title)
    if known is not None and known.running:
        return
    length = timedelta(seconds=turn.state.limit_si(step.timer.duration))
    due = (turn.now + length).isoformat()
    turn.emit(e.TimerStarted(step.timer.title, length.total_seconds(), due, False, turn.line))
    turn.answer(f"{step.timer.title.capitalize()}: {say_duration(length)}.")


def divert(turn: Turn, to: str, option: str, why: str) -> None:
    """Leave the open step undone for another one, because a reading lies outside its limits."""
    step = turn.state.open_step
    assert step is not None
    listing.mark(turn)
    turn.emit(e.StepSkipped(step.name, why, turn.line))
    turn.emit(e.BranchTaken(step.name, option, to, why, turn.line))
    open_step(turn, to)


def _go(turn: Turn, step: Step, to: str | None) -> None:
    if step.ending:
        finish(turn, step.ending.name, step.ending.text)
    else:
        open_step(turn, to)


def finish(turn: Turn, ending: str, words: str = "") -> None:
    """Close the job."""
    left = open_steps.listed(turn.state)
    if left is not None:
        turn.say("answer", *left)
    turn.emit(e.JobFinished(ending))
    turn.say("prompt", f"{words} {JOB_FINISHED}".strip(), aloud=True)


def skip(turn: Turn, reason: str) -> None:
    """Leave the open step undone, for a reason."""
    step = turn.state.open_step
    assert step is not None
    if step.ending and watch.asks(turn, i.FinishJob()):
        return
    stop_hold(turn)
    turn.emit(e.StepSkipped(step.name, reason, turn.line))
    turn.answer(f"Skipped: {reason}.")
    _go(turn, step, _skipped_to(turn, step))


def _skipped_to(turn: Turn, step: Step) -> str | None:
    """Where a skipped step leads: its `go to`, else its first way on, else the step below."""
    return turn.state.procedure.destination(step, _first_way(step))


def _first_way(step: Step) -> str | None:
    """The target of the first of its ways on, where it has no `go to`."""
    ways = step.branches + step.choices
    return ways[0].to if step.go is None and ways else None


def stop_hold(turn: Turn) -> None:
    """Stop the hold of the open step when it runs."""
    if turn.state.hold and turn.state.hold.running:
        turn.emit(e.TimerStopped(HOLD, turn.line))


def next_step(turn: Turn) -> None:
    """`next`: the technician says that the open step is done."""
    state = turn.state
    step = state.open_step
    assert step is not None
    if state.unacknowledged() or state.unmet() or passing.wanted(state):
        turn.refuse(f"{prompts.waits_for(state)}{_or_skip(turn)}")
    elif step.hold and not (state.hold and state.hold.finished and not step.hold.judge):
        left = state.hold.remaining(turn.now) if state.hold and state.hold.running else None
        more = f" {say_duration(left)} left." if left else ""
        turn.refuse(f"{prompts.waits_for(state)}{more}")
    elif step.choices:
        turn.refuse(prompts.waits_for(state))
    else:
        complete(turn)


def okay(turn: Turn) -> None:
    """`okay` is next, but too easily said to others to pass a step that protects, or the last."""
    step = turn.state.open_step
    assert step is not None
    ready = not (turn.state.unacknowledged() or turn.state.unmet())
    if ready and (step.gate or step.ending):
        turn.refuse("Say next when it is done.")
    else:
        next_step(turn)


def _or_skip(turn: Turn) -> str:
    return "" if turn.state.unacknowledged() else " Or say skip."


def back(turn: Turn) -> None:
    """Open the step before again, afresh."""
    trail, jump = turn.state.trail, turn.state.jumps[-1] if turn.state.jumps else None
    came = [n for n, left in enumerate(trail)
            if not (left.listed or (left.skipped and left.line is None))]
    if jump is not None and jump.back and (not came or jump.seq > trail[came[-1]].seq):
        turn.emit(e.Withdrawn(jump.seq, turn.line))
        stop_hold(turn)
        turn.answer("Back to where we were.")
        reopen(turn, jump.origin)
        return
    if not came:
        turn.refuse("This is the first step.")
        return
    place = _first_of_jump(turn.state, came)
    listed = list(takewhile(lambda left: left.listed, reversed(trail[:place])))[::-1]
    for left in trail[place - len(listed):][::-1]:
        withdraw_leaving(turn, left.seq, left.step)
    _forget_told(turn, trail[place].step)
    for jump in [jump for jump in turn.state.jumps if jump.seq > trail[place].seq]:
        turn.emit(e.Withdrawn(jump.seq, turn.line))
    stop_hold(turn)
    turn.answer("Back one step.")
    open_step(turn, trail[place].step, [left.step for left in listed], alone=True)


def _first_of_jump(state: JobState, came: Sequence[int]) -> int:
    """The place of the step that was left last; of a jump, which left several, of the first."""
    last = state.trail[came[-1]].line
    if last is None or all(jump.line != last for jump in state.jumps):
        return came[-1]
    return next(n for n in came if state.trail[n].line == last)


def _forget_told(turn: Turn, name: str) -> None:
    """The fact that a step asked for is asked for again."""
    know = turn.state.procedure.step(name).know
    told = turn.state.told.get(know.fact) if know is not None else None
    if told is not None and told.step == name:
        turn.emit(e.Withdrawn(told.seq, turn.line))


def withdraw_leaving(turn: Turn, seq: int, step: str) -> None:
    """Take back that a step was left, with the way that was taken then."""
    for branch in [b for b in turn.state.branches if b.step == step and b.seq > seq]:
        turn.emit(e.Withdrawn(branch.seq, turn.line))
    turn.emit(e.Withdrawn(seq, turn.line))
