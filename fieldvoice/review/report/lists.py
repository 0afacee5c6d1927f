"""The report's lists: results with figures, corrections, skipped steps, notes, timers, limits."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import timedelta

from fieldvoice.jobstate import events as e
from fieldvoice.jobstate.records import Result
from fieldvoice.jobstate.timers import Timer, say_duration
from fieldvoice.procedure.check import PLACEHOLDER
from fieldvoice.procedure.step import Step
from fieldvoice.quantity.site_units import say_at
from fieldvoice.review import figures
from fieldvoice.review.event_words import describe
from fieldvoice.review.report.after_work import amended, of_notes
from fieldvoice.review.wording import (
    Clip,
    Context,
    Quote,
    name_words,
    quantity_words,
    said_value,
    tone,
)


@dataclass(frozen=True)
class ResultShown:
    """A computed result with its figures, inputs and source."""

    title: str
    tone: str
    gone: bool
    time: str
    step: str
    said: Quote | None
    sentences: str
    figures: list[tuple[str, str]]  # label, value


@dataclass(frozen=True)
class CorrectionShown:
    """What was, and what is now."""

    time: str
    about: str  # the quantity; "" for an event that was taken or put back
    was: str
    now: str
    said: Quote | None
    amended: str = ""  # after the work: by whom and why


@dataclass(frozen=True)
class NoteShown:
    """A note with its sound."""

    time: str
    text: str
    gone: bool
    clips: list[Clip | None]
    reviewed: list[str]  # what was put to it after the work


@dataclass(frozen=True)
class Row:
    """A line of a plain list, and who said so."""

    cells: tuple[str, ...]
    said: Quote | None


def results(context: Context) -> list[ResultShown]:
    """Every computed result."""
    return [_result(context, result) for result in context.state.history.results]


def _result(context: Context, result: Result) -> ResultShown:
    return ResultShown(
        figures.headline(result.about, result.verdict), tone(result.verdict),
        result.seq in context.state.history.withdrawn, context.clock(result.at),
        name_words(result.step or ""), context.heard(result.line),
        " ".join(figures.sentences(result.figures)),
        figures.rows(result.figures, context.job.site.atmosphere_pa),
    )


def corrections(context: Context) -> Iterator[CorrectionShown]:
    """Old value, new value, who said so; and what was taken back."""
    history = context.state.history
    for reading in history.readings:
        name = quantity_words(reading.quantity)
        for old, new in zip(reading.values, reading.values[1:], strict=False):
            yield CorrectionShown(context.clock(new.at), name, said_value(old), said_value(new),
                                  context.heard(new.line), amended(context, None, new))
    events = {entry.seq: entry.event for entry in context.job.entries}
    for withdrawal in history.withdrawals.values():
        what = events.get(withdrawal.withdraws)
        if what is not None:
            now = "put back" if isinstance(what, e.Withdrawn) else "taken back"
            yield CorrectionShown(context.clock(withdrawal.at), "", describe(what), now,
                                  context.heard(withdrawal.line))


def skipped(context: Context) -> list[Row]:
    """Steps skipped that are neither left open nor done elsewhere, with the reason given."""
    history, told = context.state.history, {left.seq for left in context.state.left_open}
    left = [v.exit for v in history.visits if v.exit and history.standing(v) == "skipped"
            and v.exit.seq not in told and v.step not in context.state.carried]
    return [Row((context.clock(x.at), name_words(x.step), x.reason),
                context.heard(x.line, unless=x.reason)) for x in left]


def notes(context: Context) -> list[NoteShown]:
    """Notes with their sound."""
    gone, reviewed = context.state.history.withdrawn, of_notes(context)
    return [NoteShown(context.clock(note.at), note.text, note.seq in gone,
                      [context.clip(clip) for clip in note.clips], reviewed[note.seq])
            for note in context.state.history.notes]


def timers(context: Context) -> list[Row]:
    """Timers and holds: asked for, added, how they ended."""
    return [_timer(context, timer) for timer in context.state.history.timers]


def _timer(context: Context, timer: Timer) -> Row:
    counting = timer.without(context.state.history.withdrawn.keys())
    name = f"hold of {name_words(timer.hold).lower()}" if timer.hold else timer.label
    length = str(timedelta(seconds=round((counting or timer).seconds))).removeprefix("0:")
    if timer.own_reason is not None:
        length += f", a length of its own: {timer.own_reason}"
    end = _timer_end(context, counting) if counting else "taken back"
    return Row((context.clock(timer.started), name, length, end), context.heard(timer.line))


def _timer_end(context: Context, timer: Timer) -> str:
    """How it ended; one that the procedure wants run to its end says whether it did, or why not."""
    if timer.running:
        return "running where the record ends"
    ended = f"{timer.state} {context.clock(timer.ended_at)}"
    if timer.untimed:
        return f"{ended}, not timed: {timer.reason}"
    if timer.cut_short and timer.ended_at is not None:
        left = say_duration(timer.remaining(timer.ended_at))
        return f"{ended}, cut short {left} before its end: {timer.reason}"
    own = context.state.procedure.beside
    return f"{ended}, ran its whole time" if timer.finished and timer.label in own else ended


def cut_short(context: Context) -> list[Timer]:
    """Timers that the procedure wants run to their end and that were cut short."""
    gone = context.state.history.withdrawn.keys()
    counting = (timer.without(gone) for timer in context.state.history.timers)
    return [timer for timer in counting if timer is not None and timer.cut_short]


def cautions(context: Context) -> list[Row]:
    """Cautions that were acknowledged."""
    return [Row((context.clock(a.at), context.caution(a.caution)), context.heard(a.line))
            for a in context.state.history.acknowledgements]


def limits(context: Context) -> list[Row]:
    """The limits that the steps worked on go by, and who sets them."""
    procedure = context.state.procedure
    worked = {visit.step for visit in context.state.history.visits}
    used = {name for s in procedure.steps if s.name in worked for name in _limits_of(s)}
    site = context.job.site
    return [Row((name_words(limit.name), say_at(limit.value, limit.unit, site), limit.source), None)
            for limit in procedure.limits.values() if limit.name in used]


def _limits_of(step: Step) -> set[str]:
    """Names of the limits that a step's conditions, readings, hold, check and texts go by."""
    texts = PLACEHOLDER.findall(step.say + step.show)
    told = (key.removeprefix("limit.") for key in texts if key.startswith("limit."))
    return {*step.limits, *told}
