"""The report's lists: results with figures, corrections, skipped steps, notes, timers, limits."""

from __future__ import annotations

from datetime import timedelta
from html import escape

from fieldvoice.jobstate import events as e
from fieldvoice.procedure.check import PLACEHOLDER
from fieldvoice.procedure.step import Step
from fieldvoice.quantity.units import say
from fieldvoice.review import figures
from fieldvoice.review.event_words import describe
from fieldvoice.review.history import Done, Measured, TimerRun
from fieldvoice.review.markup import Context, name_words, quantity_words, said_value, table, tone
from fieldvoice.review.report_steps import caution_text


def results(context: Context) -> str:
    """Every computed result with its figures, inputs and source."""
    return "".join(_result(context, result) for result in context.job.results)


def _result(context: Context, result: Done) -> str:
    event: e.VerdictGiven = result.event
    gone = " gone" if result.withdrawn_at is not None else ""
    sentences = " ".join(figures.sentences(event.figures))
    found = figures.rows(event.figures, context.site.atmosphere_pa)
    rows = [(escape(label), escape(value)) for label, value in found]
    where = f" in step “{escape(name_words(event.step))}”" if event.step else ""
    return (
        f'<div class="result{gone}"><h3 class="{tone(event.verdict)}">'
        f"{escape(figures.headline(event.about, event.verdict))}</h3>"
        f'<p class="dim">{context.clock(result.at)}{where} {context.heard(result.line)}</p>'
        f"<p>{escape(sentences)}</p>{table(('', ''), rows, 'figures')}</div>\n"
    )


def corrections(context: Context) -> str:
    """Old value, new value, who said so; and what was taken back."""
    rows = [row for reading in context.job.readings for row in _corrected(context, reading)]
    for withdrawal, what in context.job.withdrawals:
        line = withdrawal.event.line if isinstance(withdrawal.event, e.Withdrawn) else None
        old = f"<s>{escape(describe(what.event))}</s>"
        now = "put back" if isinstance(what.event, e.Withdrawn) else "taken back"
        rows.append((context.clock(withdrawal.at), old, now, context.heard(line)))
    return table(("Time", "Was", "Now", "Said"), rows)


def _corrected(context: Context, reading: Measured) -> list[tuple[str, ...]]:
    name = escape(quantity_words(reading.quantity))
    rows: list[tuple[str, ...]] = []
    for old, new in zip(reading.versions, reading.versions[1:], strict=False):
        rows.append((
            context.clock(new.at), f"{name} <s>{escape(said_value(old))}</s>",
            f"<b>{escape(said_value(new))}</b>", context.heard(new.line),
        ))
    return rows


def skipped(context: Context) -> str:
    """Steps left undone, with the reason given."""
    rows = [
        (context.clock(v.closed_at), escape(name_words(v.step)), escape(v.reason),
         context.heard(v.line, unless=v.reason))
        for v in context.job.visits if v.state == "skipped"
    ]
    return table(("Time", "Step", "Reason", "Said"), rows)


def notes(context: Context) -> str:
    """Notes with their sound."""
    rows = []
    for note in context.job.notes:
        event: e.NoteTaken = note.event
        text = escape(event.text) or '<span class="dim">sound only</span>'
        sounds = "".join(context.sound(clip) for clip in event.clips)
        text = f"<s>{text}</s>" if note.withdrawn_at else text
        rows.append((context.clock(note.at), text, sounds))
    return table(("Time", "Note", "Sound"), rows)


def timers(context: Context) -> str:
    """Timers and holds: asked for, added, how they ended."""
    rows = [
        (context.clock(t.at), escape(_timer_name(t)), _span(t.seconds + t.added),
         escape(f"{t.state} {context.clock(t.ended_at)}".strip()), context.heard(t.line))
        for t in context.job.timers
    ]
    return table(("Started", "Timer", "Length", "End", "Said"), rows)


def _timer_name(timer: TimerRun) -> str:
    if timer.hold:
        return f"hold of {name_words(timer.step or timer.label).lower()}"
    return timer.label


def _span(seconds: float) -> str:
    text = str(timedelta(seconds=round(seconds)))
    return text.removeprefix("0:")


def cautions(context: Context) -> str:
    """Cautions that were acknowledged."""
    rows = [
        (context.clock(c.at), escape(caution_text(context, c.event.caution)), context.heard(c.line))
        for c in context.job.cautions
    ]
    return table(("Time", "Caution", "Acknowledged with"), rows)


def limits(context: Context) -> str:
    """The limits that the steps worked on go by, and who sets them."""
    if context.procedure is None:
        return ""
    worked = {visit.step for visit in context.job.visits}
    used = {n for s in context.procedure.steps if s.name in worked for n in _limits_of(s)}
    rows = [
        (escape(name_words(limit.name)), escape(say(limit.value, limit.unit)), escape(limit.source))
        for limit in context.procedure.limits.values() if limit.name in used
    ]
    return table(("Limit", "Value", "Source"), rows)


def _limits_of(step: Step) -> set[str]:
    """Names of the limits that a step's conditions, readings, hold, check and texts go by."""
    texts = PLACEHOLDER.findall(step.say + step.show)
    told = (key.removeprefix("limit.") for key in texts if key.startswith("limit."))
    return {*step.limits, *told}
