"""The report's main part: what was done, step by step, with the values and who said them."""

from __future__ import annotations

import re
from html import escape
from itertools import groupby

from fieldvoice.jobstate import events as e
from fieldvoice.procedure.check import PLACEHOLDER
from fieldvoice.review.figures import headline
from fieldvoice.review.history import Done, Measured, Visit
from fieldvoice.review.markup import Context, name_words, quantity_words, said_value, table, tone

_STATES = {
    "done": ("✓", "done"), "skipped": ("»", "skipped"), "open": ("○", "open when the log ends"),
    "left": ("↷", "left without being done"), "taken back": ("↶", "taken back"),
}  # fmt: skip


def steps(context: Context) -> str:
    """All visits of all steps, in the order of the job, under their stages."""
    parts = []
    for stage, visits in groupby(context.job.visits, key=lambda visit: visit.stage):
        known = context.procedure.stages.get(stage) if context.procedure else None
        title = known.title if known else name_words(stage)
        body = "".join(_visit(context, visit) for visit in visits)
        parts.append(f'<div class="stage"><h3>{escape(title)}</h3>\n{body}</div>\n')
    return "".join(parts)


def _visit(context: Context, visit: Visit) -> str:
    mark, state = _STATES[visit.state]
    again = f" (visit {visit.visit})" if visit.visit > 1 else ""
    times = context.clock(visit.at)
    if visit.closed_at is not None:
        times += f" to {context.clock(visit.closed_at)}"
    text = _asked(context, visit)
    quoted = {version.line for reading in visit.readings for version in reading.versions}
    cautions = [d for d in visit.deeds if isinstance(d.event, e.CautionAcknowledged)]
    others = [d for d in visit.deeds if not isinstance(d.event, e.CautionAcknowledged)]
    parts = [
        f'<div class="step {visit.state.replace(" ", "-")}">'
        f'<div class="step-head"><span class="mark" title="{state}">{mark}</span>'
        f"<b>{escape(name_words(visit.step) + again)}</b>"
        f'<span class="times">{escape(times)}</span></div>',
        f'<p class="what">{escape(text)}</p>' if text else "",
        *(_deed(context, deed, quoted) for deed in cautions),
        _values(context, visit.readings),
        *(_deed(context, deed, quoted) for deed in others),
        _closing(context, visit, state, quoted),
        "</div>\n",
    ]
    return "".join(parts)


def _asked(context: Context, visit: Visit) -> str:
    """What the step says, with its values as they were filled in at the time."""
    known = context.step(visit.step)
    if known is None:
        return ""
    if not PLACEHOLDER.search(known.say):
        return known.say
    pattern = re.compile(".*".join(re.escape(part) for part in PLACEHOLDER.split(known.say)[::2]))
    said = (line for prompt in visit.prompts for line in prompt.split("\n"))
    return next((line for line in said if pattern.fullmatch(line)), PLACEHOLDER.sub("…", known.say))


def _once(context: Context, line: int | None, quoted: set[int | None], unless: str = "") -> str:
    """What a line said, unless it stands in this step already."""
    if line in quoted:
        return ""
    quoted.add(line)
    return context.heard(line, unless=unless)


def _closing(context: Context, visit: Visit, state: str, quoted: set[int | None]) -> str:
    """How the step ended, when that is more than the usual "done"."""
    said = _once(context, visit.line, quoted, visit.reason)
    if visit.state == "skipped":
        return f'<p class="note"><b>Skipped:</b> {escape(visit.reason)} {said}</p>'
    if visit.state == "done":
        return f'<p class="by">Done: {said}</p>' if said else ""
    return f'<p class="note"><b>{escape(state.capitalize())}.</b></p>'


def _values(context: Context, readings: list[Measured]) -> str:
    last = {r.quantity: r.seq for r in readings if r.counts is not None}
    rows = [
        row for reading in readings
        for row in _reading_rows(context, reading, last.get(reading.quantity) == reading.seq)
    ]
    return table(("", "", "", "", ""), rows, "values")


def _reading_rows(context: Context, reading: Measured, last: bool) -> list[tuple[str, ...]]:
    """One row for each value a reading had; those that do not count are struck through."""
    rows: list[tuple[str, ...]] = []
    for version in reading.versions:
        counts = version is reading.counts
        value = escape(said_value(version))
        shown = f"<b>{value}</b>" if counts else f"<s>{value}</s>"
        rows.append((
            escape(quantity_words(reading.quantity)),
            shown,
            _standing(reading, counts, version.within, last),
            _when(context, reading) if version.seq == reading.seq else context.clock(version.at),
            context.heard(version.line),
        ))
    return rows


def _standing(reading: Measured, counts: bool, within: bool | None, last: bool) -> str:
    """Inside the limits? Only a step's last reading can fail them: a pump-down begins above."""
    if not counts:
        gone = "withdrawn" if reading.counts is None else "corrected"
        return f'<span class="dim">{gone}</span>'
    if within is None:
        return ""
    if within:
        return "✓ within limit"
    if last:
        return '<span class="bad">✗ outside limit</span>'
    return '<span class="dim">not yet</span>'


def _when(context: Context, reading: Measured) -> str:
    if reading.minute is None:
        return context.clock(reading.at)
    return f"{context.clock(reading.at)} <span class='dim'>minute {reading.minute:.1f}</span>"


def _deed(context: Context, deed: Done, quoted: set[int | None]) -> str:
    gone = ' class="gone"' if deed.withdrawn_at is not None else ""
    text = _deed_words(context, deed)
    return f"<p{gone}>{text} {_once(context, deed.line, quoted)}</p>" if text else ""


def _deed_words(context: Context, deed: Done) -> str:
    event = deed.event
    if isinstance(event, e.CautionAcknowledged):
        return f"Caution acknowledged: <i>{escape(caution_text(context, event.caution))}</i>"
    if isinstance(event, e.VerdictGiven):
        words = escape(headline(event.about, event.verdict))
        return f'<span class="verdict {tone(event.verdict)}">{words}</span>'
    if isinstance(event, e.BranchTaken):
        why = f" ({escape(event.why)})" if event.why else ""
        return f'<span class="dim">Way taken:</span> {escape(name_words(event.option))}{why}'
    return ""


def caution_text(context: Context, name: str) -> str:
    """The words of a caution; its name where the procedure lacks it."""
    known = context.procedure.cautions.get(name) if context.procedure else None
    return known.text if known else name_words(name)
