"""Each event in a few plain words."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta
from decimal import Decimal, InvalidOperation
from typing import Any

from fieldvoice.jobstate import events as e
from fieldvoice.jobstate.records import Amendment
from fieldvoice.jobstate.timers import say_duration
from fieldvoice.quantity.quantities import speakable
from fieldvoice.quantity.shares import percent
from fieldvoice.quantity.units import say
from fieldvoice.review.figures import judged_name


def describe(event: e.Event) -> str:
    """What happened, as one line for a list."""
    words = _WORDS.get(type(event))
    return event.kind.replace("-", " ") if words is None else words(event)


def amended_words(amended: Amendment, time: str) -> str:
    """What a fact at the head of the record was before, and who put it right."""
    was = f"was {amended.was}" if amended.was else "was not told"
    return f"{was}; amended {time} by {amended.by}: {amended.reason}"


def own_voice_words(event: e.OwnVoiceUsed) -> str:
    """Whose voice lines are heard with, and how it is known again."""
    if not event.name:
        return "lines are heard with nobody's own voice from here"
    surer = f"{', asked' if event.sureness else ''}{_more_or_less(event.sureness)}"
    return (f"lines are heard with the voice of {event.name} from here (file "
            f"{event.sha256[:12]}{surer})")


def _more_or_less(sureness: float) -> str:
    return " less than others" if sureness > 0 else " more than others" if sureness < 0 else ""


def _plain(name: str) -> str:
    return name.replace("-", " ")


def _value(event: e.ReadingTaken | e.ReadingCorrected | e.ReadingAmended) -> str:
    try:
        return say(Decimal(event.value), event.unit)
    except InvalidOperation:
        return f"{event.value} {event.unit}"


def _flags(event: e.ReadingTaken | e.ReadingCorrected) -> str:
    over = "" if event.over_plate is None else f", over the plate of {event.over_plate}"
    return over if event.unfit is None else f"{over}, not counted: {event.unfit}"


def _heard(event: e.LineHeard) -> str:
    sure = "" if event.confidence is None else f", {percent(event.confidence)} sure"
    came_to = "" if event.outcome == "accepted" else f", {_plain(event.outcome)}"
    return f"heard ({event.source}{sure}{came_to}): “{event.words}”"


def _lost(event: e.LogMended) -> str:
    """What of a mended log does not count, and where the rest was put."""
    many = "s" if len(event.lines) > 1 else ""
    named = ", ".join(map(str, event.lines))
    lost = f"; line{many} {named} do{'' if many else 'es'} not count" if event.lines else ""
    lost += f"; set aside in {', '.join(event.aside)}" if event.aside else ""
    return lost + (f"; no line names {', '.join(event.loose)}" if event.loose else "")


def _seconds(seconds: float) -> str:
    return f"{seconds / 60:g} min" if seconds >= 60 else f"{seconds:g} s"


def _way(seconds: float) -> str:
    way = "forward" if seconds > 0 else "back"
    return f"{way} {say_duration(timedelta(seconds=abs(seconds)))}"


def _clock(iso: str) -> str:
    try:
        return f"{datetime.fromisoformat(iso):%Y-%m-%d %H:%M:%S}"
    except ValueError:
        return iso


_MODES = {e.WORK: "", e.PRACTICE: "practice ", e.REPLAY: "replayed ",
          e.RECORDING: "recorded "}
_WORDS: dict[type[e.Event], Callable[[Any], str]] = {
    e.JobStarted: lambda x: f"{_MODES.get(x.mode, x.mode)}job {x.job} started with procedure "
                            f"{x.procedure}",
    e.RecordingHeard: lambda x: f"recording {x.file} heard from "
                                f"{_seconds(x.skipped)} on; it began {_clock(x.began)} "
                                f"({x.known_by})",
    e.ClipsKept: lambda x: "sound is kept from here" if x.kept else "no sound is kept from here",
    e.OwnVoiceUsed: lambda x: own_voice_words(x),
    e.JobResumed: lambda x: "work resumed after an interruption",
    e.JobFinished: lambda x: f"job closed: {_plain(x.ending)}",
    e.LogMended: lambda x: f"a damaged log was gone on with: {'; '.join(x.faults)}" + _lost(x),
    e.ClockJumped: lambda x: f"the computer's clock was set {_way(x.seconds)}, from "
                             f"{_clock(x.before)} to {_clock(x.after)}; times here go on unchanged",
    e.Restarted: lambda x: "the computer had been restarted; its clock showed "
                           + _clock(x.clock) + (", earlier than the line before: it was wrong"
                                                if x.behind else ""),
    e.ClockJudged: lambda x: "the computer's clock was "
                             + ("said to be right" if x.right else
                                "said to be wrong" if x.line else "seen to be wrong"),
    e.TimeLetPass: lambda x: f"practice: let pass {_seconds(x.seconds)}",
    e.LineHeard: _heard,
    e.Said: lambda x: f"{'said' if x.aloud else 'shown'} ({x.tone}): {x.text}",
    e.Asked: lambda x: f"asked back ({_plain(x.why)})",
    e.Answered: lambda x: f"answer: {_plain(x.answer)}",
    e.Attached: lambda x: f"file kept: {x.file}" + (f", {x.caption}" if x.caption else ""),
    e.HeaderAmended: lambda x: f"{_plain(x.fact)} amended to “{x.value}” by {x.by}: {x.reason}",
    e.NoteTaken: lambda x: f"note: {x.text or 'sound only'}",
    e.NoteOpened: lambda x: "note begun",
    e.StoodBy: lambda x: "standing by",
    e.BackAtWork: lambda x: "back to work",
    e.VoiceChanged: lambda x: f"voice: {x.change}",
    e.StepOpened: lambda x: f"step opened: {_plain(x.step)}"
                            + (f" (visit {x.visit})" if x.visit > 1 else ""),
    e.CautionAcknowledged: lambda x: f"caution acknowledged: {_plain(x.caution)}",
    e.StepDone: lambda x: f"step done: {_plain(x.step)}" + (", one of a list" if x.listed else ""),
    e.StepSkipped: lambda x: f"step skipped: {_plain(x.step)}, because {x.reason}",
    e.StepCarried: lambda x: f"step counts as done: {_plain(x.step)}, {x.why}",
    e.FactTold: lambda x: f"told: {_plain(x.fact)} {x.value}",
    e.Jumped: lambda x: f"gone {'back ' if x.back else ''}to {_plain(x.step)}, out of turn",
    e.TestCarried: lambda x: f"{_plain(x.about)} test carried over, not measured here: "
                             f"{_plain(x.verdict)} on {x.at}, by {x.by}"
                             + (f", from job {x.source}" if x.source else ""),
    e.JobReopened: lambda x: "job opened again after its end" + (f": {x.reason}" if x.reason
                                                                 else ""),
    e.StepsListed: lambda x: f"steps listed before {_plain(x.step)}: "
                             + ", ".join(map(_plain, x.steps)),
    e.DepthChanged: lambda x: f"depth: {_plain(x.depth)}" + "".join(
        f", {_plain(kind)} each with its prompt" for kind in x.prompted),
    e.BranchTaken: lambda x: f"way taken at {_plain(x.step)}: {_plain(x.option)} to {_plain(x.to)}",
    e.ReadingTaken: lambda x: f"reading: {speakable(x.quantity)} {_value(x)}{_flags(x)}",
    e.ReadingCorrected: lambda x: f"reading {x.corrects} corrected to {_value(x)}{_flags(x)}",
    e.Withdrawn: lambda x: f"event {x.withdraws} taken back",
    e.TimerStarted: lambda x: f"timer {x.label} started: {_seconds(x.seconds)}",
    e.TimerExtended: lambda x: f"timer {x.label} lengthened by {_seconds(x.seconds)}",
    e.TimerStopped: lambda x: f"timer {x.label} stopped" + (f", because {x.reason}" if x.reason
                                                            else ""),
    e.TimerFinished: lambda x: f"timer {x.label} ran out",
    e.Reminded: lambda x: f"reminder of {x.label}: {x.mark}",
    e.UnitOpened: lambda x: "unit opened",
    e.UnitAsked: lambda x: "asked back (which unit)",
    e.UnitAnswered: lambda x: f"answer about the unit: {_plain(x.answer)}",
    e.StageEntered: lambda x: f"stage entered: {_plain(x.called)}",
    e.StageLeft: lambda x: f"stage left: {_plain(x.called)} ({_plain(x.outcome)})",
    e.VerdictGiven: lambda x: f"result, {judged_name(x.about).lower()}: {_plain(x.verdict)}",
    e.LineReviewed: lambda x: f"line {x.line} marked {'right' if x.right else 'wrong'} "
                              f"by {x.reviewer}" + (f": {x.reason}" if x.reason else "")
                              + (f"; really said: “{x.words}”" if x.words else ""),
    e.ReadingAmended: lambda x: f"reading {x.amends} amended to {_value(x)} by {x.reviewer}: "
                                f"{x.reason}"
                                + (f", over the plate of {x.over_plate}" if x.over_plate else ""),
    e.Remarked: lambda x: f"remark by {x.reviewer}"
                          + (f" on {x.line}" if x.line else "") + f": {x.text}",
    e.NoteTranscribed: lambda x: f"sound of line {x.line} written down ({_plain(x.how)}) "
                                 f"by {x.reviewer}: {x.text}",
}
