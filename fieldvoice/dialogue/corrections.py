"""Repair: taking back, correction and change; always new events that point at old ones."""

from __future__ import annotations

from fieldvoice.dialogue import hold_verdict, holds, prompts, record_reading, steps
from fieldvoice.dialogue.confidence import Decision
from fieldvoice.dialogue.facts import words
from fieldvoice.dialogue.safeguards import coarse_gauge, plate
from fieldvoice.dialogue.turn import Turn
from fieldvoice.jobstate import events as e
from fieldvoice.jobstate.records import LoggedReading, StepExit, UndoableLine
from fieldvoice.jobstate.timers import HOLD
from fieldvoice.language import intents as i
from fieldvoice.quantity.facts import called
from fieldvoice.quantity.quantities import speakable
from fieldvoice.quantity.resolve_reading import Resolved, resolve
from fieldvoice.quantity.resolve_unit import Refused
from fieldvoice.quantity.units import SAID_TOGETHER, say

Change = i.Correction | i.ChangeReading


def take_back(turn: Turn) -> None:
    """Take back all that the last effective line did."""
    if not turn.state.undoable:
        turn.refuse("There is nothing to take back.")
        return
    if turn.state.finished:
        turn.refuse("The job is finished; its log stays as it is.")
        return
    deed = turn.state.undoable[-1]
    left = [v for v in turn.state.trail if v.seq in deed.seqs and not v.listed]
    jumps = [v for v in turn.state.jumps if v.seq in deed.seqs]
    turn.answer(f"Took back {_what(turn, deed, left)}.")
    for seq in reversed(deed.seqs):
        turn.emit(e.Withdrawn(seq, turn.line))
    if left or jumps:
        steps.stop_hold(turn)
        steps.reopen(turn, left[0].step if left else jumps[0].origin)
    else:
        turn.say("prompt", prompts.waits_for(turn.state))


def put_back(turn: Turn) -> None:
    """Take back the last take-back: what it took counts again."""
    undone = turn.state.undone
    if undone is None or turn.state.finished:
        turn.refuse("Nothing was taken back just now. "
                    "To take back the last thing say take that back.")
        return
    step = turn.state.step
    for seq in reversed(undone.seqs):
        turn.emit(e.Withdrawn(seq, turn.line))
    state = turn.state
    kind = state.undoable[-1].kind if state.undoable else ""
    left = [v for v in state.trail if v.seq in undone.withdrew and not v.listed]
    turn.answer(f"Put back {_what(turn, UndoableLine(undone.line, undone.withdrew, kind), left)}.")
    if state.step is not None and state.step != step:
        steps.reopen(turn, state.step)
    else:
        turn.say("prompt", prompts.waits_for(state))


def _what(turn: Turn, deed: UndoableLine, left: list[StepExit]) -> str:
    taken = [t for t in turn.state.readings if t.seq in deed.seqs]
    if taken:
        return " and ".join(prompts.shown(t) for t in taken)
    if told := [t for t in turn.state.history.told if t.seq in deed.seqs]:
        return f"{called(told[0].fact)} {words.shown(told[0].fact, told[0].value)}"
    if any(v.seq in deed.seqs for v in turn.state.jumps):
        return "the jump"
    if any(v.seq in deed.seqs for v in turn.state.tests_carried):
        return "the carried-over test"
    if left:
        return f"step {left[0].step.replace('-', ' ')}"
    return {
        "timer-started": "the start of the timer", "timer-extended": "the added time",
        "timer-stopped": "the stop of the timer", "note-taken": "the note",
        "attached": "the photo",
        "reading-corrected": "the correction",
    }.get(deed.kind, "the last entry")


def change(turn: Turn, intent: Change, *, confirmed: bool = False) -> None:
    """Put another value in the place of an earlier reading's, or ask back when it is doubtful."""
    quantity = intent.quantity if isinstance(intent, i.ChangeReading) else None
    old = turn.state.last(quantity)
    if old is None:
        what = speakable(quantity) if quantity else "reading"
        turn.refuse(f"No {what} has been logged yet.")
        return
    found = _resolve(turn, intent, old)
    if isinstance(found, Refused):
        turn.refuse(found.reason)
        return
    if (found.value, found.unit) == (old.now.value, old.now.unit):
        turn.answer(f"{speakable(old.quantity).capitalize()} is "
                    f"{prompts.shown(old)} already.")
        return
    surprise = None if confirmed else record_reading.surprise_at(turn, found, old.seq)
    if surprise is not None or (turn.decision is Decision.ASK and not confirmed):
        exact = i.ChangeReading(old.quantity, found.value, found.unit)
        said = f"{say(found.value, found.unit)} instead of {prompts.shown(old)}"
        record_reading.ask_back(turn, exact, said, surprise or "")
        return
    _correct(turn, old, found)


def _resolve(turn: Turn, intent: Change, old: LoggedReading) -> Resolved | Refused:
    unit = intent.unit or old.now.unit
    if intent.unit is None and unit in SAID_TOGETHER:
        return Refused(f"{prompts.shown(old)}: say the unit of the new value too.", "which-unit")
    return resolve(intent.value, unit, old.quantity, expected=old.quantity,
                            site=turn.state.site)


def _correct(turn: Turn, old: LoggedReading, found: Resolved) -> None:
    stated = plate.over(turn.state, found)
    unfit = _unfit(turn, old, found)
    within = _within(turn, old, found.si) if unfit is None else False
    turn.emit(e.ReadingCorrected(old.seq, str(found.value), found.unit, found.si, found.si_unit,
                                 turn.line, within,
                                 prompts.shown(stated) if stated is not None else None, unfit))
    if stated is not None:
        record_reading.alarm(turn, record_reading.against(found, stated))
    standing = plate.stands_over(turn.state, found)
    if standing is not None:
        record_reading.alarm(
            turn, f"{prompts.shown(standing)}, plate {say(found.value, found.unit)}.")
    name = speakable(old.quantity).capitalize()
    turn.answer(f"{name} is now {say(found.value, found.unit)}, "
                f"not {prompts.shown(old)}.{f' It does not count. {unfit}' if unfit else ''}")
    if old.hold is not None and _judged(turn, old):
        _judge_again(turn, old)
    elif within is False and old.now.within is not False:
        _undo_progress(turn, old)
    elif old.step == turn.state.step and within and turn.state.unmet() is None:
        steps.advance(turn)


def _unfit(turn: Turn, old: LoggedReading, found: Resolved) -> str | None:
    """Why the new value does not count against the limit of its step, the open one."""
    step = turn.state.open_step
    if step is None or step.name != old.step:
        return None
    need = next((n for n in step.needs if n.quantity == old.quantity), None)
    return coarse_gauge.unfit(turn.state, found, need, old.hold is not None)


def _within(turn: Turn, old: LoggedReading, si: float) -> bool | None:
    """Inside the limits that the reading was compared with when it was taken."""
    step = turn.state.procedure.by_name.get(old.step)
    if step is None:
        return None
    if old.hold is not None and step.hold is not None and step.hold.limit is not None:
        return si <= turn.state.limit_si(step.hold.limit) if step.hold.judge == "decay" else None
    need = next((n for n in step.needs if n.quantity == old.quantity), None)
    return None if need is None else turn.state.within(need, si)


def _undo_progress(turn: Turn, old: LoggedReading) -> None:
    """The step that this reading completed is not complete after all: open it again."""
    left = [v for v in turn.state.trail if v.line == old.line and v.step == old.step
            and old.line is not None]
    if not left or turn.state.trail[-1] != left[-1]:
        turn.say("prompt", prompts.waits_for(turn.state))
        return
    steps.withdraw_leaving(turn, left[-1].seq, left[-1].step)
    turn.answer("That is outside the limit, so back to that step.")
    steps.reopen(turn, old.step)


def _judged(turn: Turn, old: LoggedReading) -> bool:
    return any(g.step == old.hold and g.seq > old.seq for g in turn.state.results)


def _judge_again(turn: Turn, old: LoggedReading) -> None:
    """A reading of a judged hold was changed: the verdict follows it."""
    state = turn.state
    timer = state.timers.get(HOLD)
    step = state.procedure.step(old.step)
    if timer is None or timer.hold != old.hold or timer.changes[0].seq > old.seq \
            or step.hold is None:
        turn.answer("That hold is over and another began: its verdict stands as logged.")
        return
    began = timer.changes[0].seq
    taken = [t for t in state.readings
             if t.seq > began and t.hold == old.hold and not t.now.unfit]
    try:
        judged = hold_verdict.judge(state, step.hold, taken)
    except hold_verdict.TradeError as error:
        turn.refuse(f"No verdict: {error}.")
        return
    before = [g for g in state.results if g.step == old.hold][-1].verdict
    turn.emit(e.VerdictGiven(judged.about, judged.verdict, dict(judged.figures), step.name,
                             turn.line))
    if judged.verdict == before:
        turn.answer(f"The verdict stays {before.replace('-', ' ')}. {judged.reason}")
        return
    turn.say("answer", f"The verdict changes. {judged.words}",
             f"The verdict changes. {judged.spoken}")
    _take_other_branch(turn, old.step, judged)


def _take_other_branch(turn: Turn, name: str, judged: hold_verdict.Judged) -> None:
    """The job follows the new verdict, as long as nothing but the hold's own way was taken."""
    came = turn.state.trail[-1] if turn.state.trail else None
    to = turn.state.procedure.step(name).way(judged.verdict)
    assert to is not None  # the check at load wants a way for every verdict
    if turn.state.step != name:
        if came is None or came.step != name:
            turn.answer("Other steps were done since. Say back to return to that hold.")
            return
        steps.stop_hold(turn)
        steps.withdraw_leaving(turn, came.seq, name)
        steps.reopen(turn, name, present=to.to == name)
    if to.to != name:
        steps.stop_hold(turn)
        steps.leave(turn, judged.verdict, judged.reason)
    elif turn.state.hold is not None and turn.state.hold.finished:
        holds.hold_on(turn, turn.state.hold, judged)
