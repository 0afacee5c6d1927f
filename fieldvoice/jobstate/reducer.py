"""How each event changes the job state."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable
from dataclasses import replace
from datetime import datetime
from typing import Any

from fieldvoice.jobstate import events as e
from fieldvoice.jobstate.draft import Draft
from fieldvoice.jobstate.events import Entry
from fieldvoice.jobstate.records import (
    Acknowledgement,
    Amendment,
    Attachment,
    BranchChoice,
    CarriedStep,
    CarriedTest,
    ClockDoubt,
    Jump,
    LineReview,
    LoggedReading,
    Note,
    OpenNote,
    Question,
    ReadingValue,
    Remark,
    Reopening,
    Result,
    StepExit,
    StepVisit,
    ToldFact,
    Transcript,
)
from fieldvoice.jobstate.take_back import belongs_to_take_back, done_beside, remember, withdraw
from fieldvoice.jobstate.timers import Change, Timer
from fieldvoice.jobstate.waiting import keep_waiting

Handler = Callable[[Draft, Any, Entry], None]
_HANDLERS: dict[type[e.Event], Handler] = {e.Withdrawn: withdraw}


def apply(draft: Draft, entry: Entry) -> None:
    """Take one entry in."""
    draft.next_seq = entry.seq + 1
    if e.is_work(entry.event):
        draft.last_at = entry.at
    if draft.began is None:
        draft.began = entry.at
    handle = _HANDLERS.get(type(entry.event))
    if handle is not None:
        handle(draft, entry.event, entry)
    draft.speaking = isinstance(entry.event, e.Said)
    keep_waiting(draft, entry.event, entry.at)
    remember(draft, entry.event, entry.seq)


def _on(kind: type[e.Event]) -> Callable[[Handler], Handler]:
    """Register how an event of that kind changes the draft."""
    def register(handler: Handler) -> Handler:
        _HANDLERS[kind] = handler
        return handler

    return register


# --- the job and the talk ----------------------------------------------------------------------


@_on(e.JobStarted)
def _started(draft: Draft, event: e.JobStarted, _entry: Entry) -> None:
    draft.started = event
    draft.procedure.with_site(event.site)  # facts that do not fit the procedure fail here


@_on(e.JobResumed)
def _resumed(draft: Draft, _event: e.JobResumed, entry: Entry) -> None:
    draft.resumed.append(entry.at)


@_on(e.Restarted)
def _restarted(draft: Draft, event: e.Restarted, entry: Entry) -> None:
    clock = datetime.fromisoformat(event.clock)
    if event.ran:
        draft.clock_doubt = ClockDoubt(entry.seq, clock, event.behind, event.ran)


@_on(e.ClockJudged)
def _clock_judged(draft: Draft, event: e.ClockJudged, _entry: Entry) -> None:
    if draft.clock_doubt is not None and not event.right:
        draft.untimed = draft.clock_doubt.seq
    draft.clock_doubt = None


@_on(e.ClipsKept)
def _clips_kept(draft: Draft, event: e.ClipsKept, _entry: Entry) -> None:
    draft.keeps_clips = event.kept


@_on(e.OwnVoiceUsed)
def _own_voice_used(draft: Draft, event: e.OwnVoiceUsed, _entry: Entry) -> None:
    draft.own_voice = event


@_on(e.JobFinished)
def _finished(draft: Draft, event: e.JobFinished, entry: Entry) -> None:
    draft.finished, draft.questions = event, []
    _leave_open_step(draft, entry.at)


@_on(e.LineHeard)
def _heard(draft: Draft, event: e.LineHeard, entry: Entry) -> None:
    draft.lines[entry.seq] = event
    whole = event.intent.get("kind") != e.CUT_SHORT
    if draft.open_note is not None and whole and event.intent.get("intent") != "end-note":
        draft.open_note = draft.open_note.heard(event.words, event.clip)


@_on(e.Said)
def _said(draft: Draft, event: e.Said, _entry: Entry) -> None:
    if not draft.speaking:
        draft.last_said = []
    draft.last_said.append(event)


@_on(e.Asked)
def _asked(draft: Draft, event: e.Asked, entry: Entry) -> None:
    asked = Question(entry.seq, event.line, event.why, event.intent)
    draft.questions.insert(len(draft.questions) if event.behind else 0, asked)


@_on(e.Answered)
def _answered(draft: Draft, event: e.Answered, _entry: Entry) -> None:
    draft.questions = [q for q in draft.questions if q.seq != event.asked]


@_on(e.NoteOpened)
def _note_opened(draft: Draft, _event: e.NoteOpened, entry: Entry) -> None:
    draft.open_note = OpenNote(entry.seq)


@_on(e.NoteTaken)
def _note_taken(draft: Draft, event: e.NoteTaken, entry: Entry) -> None:
    draft.notes.append(Note(entry.seq, entry.at, event.text, tuple(event.clips)))
    draft.open_note = None


@_on(e.StoodBy)
@_on(e.BackAtWork)
def _attending(draft: Draft, event: e.StoodBy | e.BackAtWork, _entry: Entry) -> None:
    draft.standing_by = isinstance(event, e.StoodBy)


@_on(e.VoiceChanged)
def _voice_changed(draft: Draft, event: e.VoiceChanged, _entry: Entry) -> None:
    draft.voice.append(event.change)


# --- steps and what comes of them --------------------------------------------------------------


@_on(e.StepOpened)
def _opened(draft: Draft, event: e.StepOpened, entry: Entry) -> None:
    place = _last_opened(draft)
    last = None if place is None else draft.visits[place]
    if (last is not None and (last.step, last.visit) == (event.step, event.visit)
            and last.is_open and last.seq not in draft.withdrawn):
        return  # the same visit goes on, as after an interruption
    _leave_open_step(draft, entry.at)
    before = draft.newest_visit(event.step)
    again = before is not None and before.visit == event.visit
    began = before.began if before is not None and again else entry.seq
    draft.add_visit(
        StepVisit(entry.seq, entry.at, event.stage, event.step, event.visit, began))
    done_beside(draft, entry.seq)


def _last_opened(draft: Draft) -> int | None:
    """The place of the newest visit, whether it counts or not."""
    places = reversed(range(len(draft.visits)))
    return next((n for n in places if draft.visits[n].before is None), None)


def _leave_open_step(draft: Draft, at: datetime) -> None:
    place = _last_opened(draft)
    if place is not None and draft.visits[place].is_open:
        draft.visits[place] = replace(draft.visits[place], left_at=at)


@_on(e.StepDone)
def _done(draft: Draft, event: e.StepDone, entry: Entry) -> None:
    left = StepExit(entry.seq, entry.at, event.step, event.line, listed=event.listed)
    (_close_listed if event.listed else _close)(draft, left)


@_on(e.StepSkipped)
def _skipped(draft: Draft, event: e.StepSkipped, entry: Entry) -> None:
    _close(draft, StepExit(entry.seq, entry.at, event.step, event.line, True, event.reason))


def _close(draft: Draft, left: StepExit) -> None:
    """A step is left; one that is passed over was never opened and has no visit to end."""
    draft.exits.append(left)
    place = draft.open_place
    if place is None or draft.visits[place].step != left.step:
        return
    before = draft.visits[place].exit
    if before is None or before.seq in draft.withdrawn:
        draft.visits[place] = replace(draft.visits[place], exit=left)


@_on(e.StepCarried)
def _carried(draft: Draft, event: e.StepCarried, entry: Entry) -> None:
    draft.carried.append(CarriedStep(entry.seq, entry.at, event.step, event.why, event.line,
                                     tuple(event.cautions)))


@_on(e.StepsListed)
def _listed(draft: Draft, event: e.StepsListed, entry: Entry) -> None:
    for name in event.steps:
        before, step = draft.newest_visit(name), draft.procedure.by_name.get(name)
        draft.add_visit(StepVisit(
            entry.seq, entry.at, step.stage if step else "", name,
            before.visit + 1 if before else 1, entry.seq, before=(event.step, event.visit)))


def _close_listed(draft: Draft, left: StepExit) -> None:
    """One of a list is done: the visit that it was given when it was listed ends."""
    draft.exits.append(left)
    places = (n for n in reversed(range(len(draft.visits)))
              if draft.visits[n].step == left.step and draft.visits[n].before is not None)
    place = next(places, None)
    if place is not None:
        draft.visits[place] = replace(draft.visits[place], exit=left)


@_on(e.DepthChanged)
def _depth_changed(draft: Draft, event: e.DepthChanged, _entry: Entry) -> None:
    draft.depth, draft.prompted = event.depth, frozenset(event.prompted)


@_on(e.Jumped)
def _jumped(draft: Draft, event: e.Jumped, entry: Entry) -> None:
    draft.jumps.append(Jump(entry.seq, entry.at, event.stage, event.step, event.origin,
                            event.back, tuple(event.lifts), event.line))


@_on(e.TestCarried)
def _test_carried(draft: Draft, event: e.TestCarried, entry: Entry) -> None:
    draft.tests_carried.append(CarriedTest(
        entry.seq, entry.at, event.about, event.verdict, event.at, event.by, event.source,
        event.figures, event.line))


@_on(e.JobReopened)
def _reopened(draft: Draft, event: e.JobReopened, entry: Entry) -> None:
    ending = draft.finished.ending if draft.finished is not None else ""
    draft.reopenings.append(Reopening(entry.seq, entry.at, event.reason, ending))
    draft.finished = None


@_on(e.CautionAcknowledged)
def _acknowledged(draft: Draft, event: e.CautionAcknowledged, entry: Entry) -> None:
    draft.acknowledgements.append(
        Acknowledgement(entry.seq, entry.at, event.step, event.caution, event.line))


@_on(e.BranchTaken)
def _branched(draft: Draft, event: e.BranchTaken, entry: Entry) -> None:
    draft.branches.append(
        BranchChoice(entry.seq, entry.at, event.step, event.option, event.why, event.line))


@_on(e.VerdictGiven)
def _given(draft: Draft, event: e.VerdictGiven, entry: Entry) -> None:
    draft.results.append(Result(entry.seq, entry.at, event.about, event.verdict, event.figures,
                                event.step, event.line))


@_on(e.FactTold)
def _told(draft: Draft, event: e.FactTold, entry: Entry) -> None:
    draft.procedure.with_site({event.fact: event.value})  # as at the start
    place = draft.open_place
    step = None if place is None else draft.visits[place].step
    draft.told.append(ToldFact(entry.seq, entry.at, event.fact, event.value, step, event.line))


# --- readings ----------------------------------------------------------------------------------


@_on(e.ReadingTaken)
def _taken(draft: Draft, event: e.ReadingTaken, entry: Entry) -> None:
    draft.readings.append(LoggedReading(
        entry.seq, entry.at, event.quantity, event.si_unit, event.step, event.hold, event.minute,
        (_value(event, entry),),
    ))


@_on(e.ReadingCorrected)
def _corrected(draft: Draft, event: e.ReadingCorrected, entry: Entry) -> None:
    place = bisect_left(draft.readings, event.corrects, key=lambda reading: reading.seq)
    if place < len(draft.readings) and draft.readings[place].seq == event.corrects:
        draft.readings[place] = draft.readings[place].corrected(_value(event, entry))


def _value(event: e.ReadingTaken | e.ReadingCorrected, entry: Entry) -> ReadingValue:
    return ReadingValue(
        entry.seq, entry.at, event.value, event.unit, event.si, event.within, event.line,
        event.over_plate, event.unfit)


# --- timers ------------------------------------------------------------------------------------


@_on(e.TimerStarted)
def _timer_started(draft: Draft, event: e.TimerStarted, entry: Entry) -> None:
    due = datetime.fromisoformat(event.due)
    start = Change(entry.seq, entry.at, "running", due, event.seconds, event.reason)
    place = draft.open_place if event.hold and draft.finished is None else None
    hold = None if place is None else draft.visits[place].step
    draft.add_timer(Timer(event.label, (start,), hold, event.line))


@_on(e.TimerExtended)
def _timer_extended(draft: Draft, event: e.TimerExtended, entry: Entry) -> None:
    due = datetime.fromisoformat(event.due)
    _change(draft, event.label, Change(entry.seq, entry.at, "running", due, event.seconds))


@_on(e.TimerStopped)
def _timer_stopped(draft: Draft, event: e.TimerStopped, entry: Entry) -> None:
    _change(draft, event.label, Change(entry.seq, entry.at, "stopped", reason=event.reason,
                                       untimed=event.untimed))
    if belongs_to_take_back(draft, event):
        done_beside(draft, entry.seq)


@_on(e.TimerFinished)
def _timer_finished(draft: Draft, event: e.TimerFinished, entry: Entry) -> None:
    _change(draft, event.label, Change(entry.seq, entry.at, "finished"))


def _change(draft: Draft, label: str, change: Change) -> None:
    place = draft.newest_timer(label)
    if place is not None:
        draft.timers[place] = draft.timers[place].changed(change)


@_on(e.Reminded)
def _reminded(draft: Draft, event: e.Reminded, _entry: Entry) -> None:
    place = draft.newest_timer(event.label)
    counting = None if place is None else draft.timers[place].without(draft.withdrawn.keys())
    if place is not None and counting is not None:
        draft.timers[place] = replace(
            draft.timers[place], reminded=counting.called_out(event.mark).reminded)


# --- stages ------------------------------------------------------------------------------------


@_on(e.StageEntered)
@_on(e.StageLeft)
def _crossed(draft: Draft, event: e.StageEntered | e.StageLeft, _entry: Entry) -> None:
    draft.in_stage = event.stage if isinstance(event, e.StageEntered) else None


# --- kept with the job -------------------------------------------------------------------------


@_on(e.Attached)
def _attached(draft: Draft, event: e.Attached, entry: Entry) -> None:
    draft.attachments.append(Attachment(entry.seq, entry.at, event.file, event.sha256, event.bytes,
                                        event.caption, event.by, event.line))


@_on(e.HeaderAmended)
def _header_amended(draft: Draft, event: e.HeaderAmended, entry: Entry) -> None:
    draft.amendments.append(Amendment(entry.seq, entry.at, event.fact, event.value, event.was,
                                      event.by, event.reason))


# --- review ------------------------------------------------------------------------------------


@_on(e.LineReviewed)
def _line_reviewed(draft: Draft, event: e.LineReviewed, entry: Entry) -> None:
    draft.reviews.append(LineReview(entry.seq, entry.at, event.line, event.right, event.reviewer,
                                    event.reason, event.words))


@_on(e.ReadingAmended)
def _amended(draft: Draft, event: e.ReadingAmended, entry: Entry) -> None:
    place = bisect_left(draft.readings, event.amends, key=lambda reading: reading.seq)
    if place < len(draft.readings) and draft.readings[place].seq == event.amends:
        draft.readings[place] = draft.readings[place].corrected(ReadingValue(
            entry.seq, entry.at, event.value, event.unit, event.si, event.within, None,
            event.over_plate, None, event.reviewer, event.reason))


@_on(e.Remarked)
def _remarked(draft: Draft, event: e.Remarked, entry: Entry) -> None:
    draft.remarks.append(Remark(entry.seq, entry.at, event.line, event.text, event.reviewer))


@_on(e.NoteTranscribed)
def _transcribed(draft: Draft, event: e.NoteTranscribed, entry: Entry) -> None:
    draft.transcripts.append(
        Transcript(entry.seq, entry.at, event.line, event.text, event.how, event.reviewer))
