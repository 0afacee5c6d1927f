"""Taking back and putting back: which events do not count any more, and what can be undone."""

from __future__ import annotations

from dataclasses import replace

from fieldvoice.jobstate import events as e
from fieldvoice.jobstate.draft import Draft
from fieldvoice.jobstate.events import Entry
from fieldvoice.jobstate.records import UndoableLine, Undone, Withdrawal

UNDOABLE = (
    e.ReadingTaken, e.ReadingCorrected, e.StepDone, e.StepSkipped, e.BranchTaken, e.TimerStarted,
    e.TimerExtended, e.TimerStopped, e.NoteTaken, e.VerdictGiven, e.StepCarried,
    e.FactTold, e.Jumped, e.TestCarried, e.Attached,
)
TAKEN_BACK_LASTS = (  # what may happen between a take-back and putting it back
    e.Withdrawn, e.LineHeard, e.Said, e.Asked, e.Answered, e.VoiceChanged, e.StoodBy,
    e.BackAtWork, e.JobResumed, e.StepOpened, e.CautionAcknowledged, e.NoteOpened, e.DepthChanged,
    e.UnitOpened, e.UnitAsked, e.UnitAnswered, e.ClockJumped, e.Restarted, e.ClockJudged,
    e.TimeLetPass, e.StageEntered, e.StageLeft, e.OwnVoiceUsed, *e.REVIEW,
)


def withdraw(draft: Draft, event: e.Withdrawn, entry: Entry) -> None:
    """An event counts no more; where it is a withdrawal, what that took counts again."""
    taken_back = draft.withdrawals.get(event.withdraws)
    draft.withdrawals[entry.seq] = Withdrawal(entry.seq, entry.at, event.withdraws, event.line)
    if taken_back is None:
        draft.withdraw(event.withdraws, entry.at)
        _remember_take_back(draft, event, entry.seq)
        return
    draft.restore(taken_back.withdraws)
    undone = draft.undone
    if undone is not None and taken_back.seq in undone.seqs:
        for seq in undone.beside:
            draft.withdraw(seq, entry.at)
        rest = tuple(seq for seq in undone.seqs if seq != taken_back.seq)
        draft.undone = replace(undone, seqs=rest, beside=()) if rest else None


def _remember_take_back(draft: Draft, event: e.Withdrawn, seq: int) -> None:
    """Keep what can be put back; a correction that withdraws more is no take-back."""
    line = event.line
    if line is None or (draft.undoable and draft.undoable[-1].line == line):
        return
    undone = draft.undone
    if undone is None or undone.line != line:
        undone = Undone(line)
    draft.undone = replace(undone, seqs=(*undone.seqs, seq),
                           withdrew=(*undone.withdrew, event.withdraws))


def belongs_to_take_back(draft: Draft, event: e.Event) -> bool:
    """A hold that is stopped because the step before it is opened again."""
    return (isinstance(event, e.TimerStopped) and draft.undone is not None
            and event.line == draft.undone.line)


def done_beside(draft: Draft, seq: int) -> None:
    """Keep what is done while a take-back lasts: putting back undoes it."""
    if draft.undone is not None:
        draft.undone = replace(draft.undone, beside=(*draft.undone.beside, seq))


def remember(draft: Draft, event: e.Event, seq: int) -> None:
    """Keep what can be taken back, by the line that did it, and whether putting back goes on."""
    if belongs_to_take_back(draft, event):
        return
    if not isinstance(event, TAKEN_BACK_LASTS):
        draft.undone = None
    if not isinstance(event, UNDOABLE) or event.line is None:
        return
    if draft.undoable and draft.undoable[-1].line == event.line:
        last = draft.undoable[-1]
        draft.undoable[-1] = replace(last, seqs=(*last.seqs, seq))
    elif not isinstance(event, e.VerdictGiven):  # an answered question is nothing to undo
        draft.undoable.append(UndoableLine(event.line, (seq,), event.kind))
