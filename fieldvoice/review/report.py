"""The job report: one self-contained HTML page, made from the events and the procedure text."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta, tzinfo
from functools import cache
from html import escape
from importlib import resources

from fieldvoice.jobstate import events as e
from fieldvoice.jobstate.events import Entry
from fieldvoice.procedure.derived_limits import following
from fieldvoice.procedure.model import Procedure
from fieldvoice.procedure.reader import parse
from fieldvoice.procedure.settings import ProcedureError
from fieldvoice.quantity.convert import to_si
from fieldvoice.quantity.errors import ReadingError
from fieldvoice.review import report_lists as lists
from fieldvoice.review.curve import curve_svg
from fieldvoice.review.event_words import describe
from fieldvoice.review.figures import headline
from fieldvoice.review.history import Digest
from fieldvoice.review.history_reducer import digest
from fieldvoice.review.markup import Context, name_words, said_value, section, table, tone
from fieldvoice.review.report_steps import steps
from fieldvoice.trade.errors import TradeError

PRECEDENCE = (
    "Local codes, the equipment's own instructions and licensed practice come first. "
    "A standing-vacuum test of minutes cannot see the very small leaks that codes speak of."
)


@dataclass(frozen=True)
class Integrity:
    """What the caller found when it checked the log's hash chain."""

    intact: bool
    statement: str  # "Every line matches the hash that the next one carries; last hash ab12..."


def report_html(
    entries: Sequence[Entry], procedure_text: str, *, clips_at: str | None = "",
    integrity: Integrity | None = None, zone: tzinfo | None = None,
) -> str:
    """The whole report; linear in the entries, and everything from them is escaped.

    `clips_at`: where clips are found: "" when the page lies in the job's folder, else that folder's
    URL with a slash at its end; None leaves them named, not linked.
    `integrity`: the result of checking the log; None says that it was not checked.
    `zone`: time zone of the times shown; None leaves them as they are in the entries.
    """
    job = digest(entries)
    procedure, fault = _procedure(procedure_text, job)
    context = Context(job, procedure, clips_at, zone)
    body = [
        _head(context), _glance(context), _curve(context),
        section("Results", lists.results(context)),
        section("What was done", steps(context)),
        section("Skipped steps", lists.skipped(context)),
        section("Corrections", lists.corrections(context)),
        section("Notes", lists.notes(context)),
        section("Cautions acknowledged", lists.cautions(context)),
        section("Holds and timers", lists.timers(context)),
        section("Limits in force", lists.limits(context)),
        section("The record itself", _record(context, entries, integrity, fault)),
        _signatures(), _complete(context, entries),
    ]
    return _page(_name(job), "".join(body))


def _procedure(text: str, job: Digest) -> tuple[Procedure | None, str]:
    """The procedure with the limits that site and readings set; or None and why it has none."""
    facts = job.started.site if job.started else {}
    read = {m.quantity: m.counts.si for m in job.readings
            if m.counts is not None and m.counts.within is not False}
    try:
        site = Context(job, None, None, None).site
        return following(parse(text).with_site(facts), read, site), ""
    except (ProcedureError, TradeError) as error:
        return None, str(error)


@cache
def _style() -> str:
    return resources.files("fieldvoice.review").joinpath("report.css").read_text("utf-8")


def _page(title: str, body: str) -> str:
    return (
        "<!doctype html>\n<html lang='en'><head><meta charset='utf-8'>"
        "<meta name='viewport' content='width=device-width, initial-scale=1'>"
        f"<title>{escape(title)}: job record</title>\n<style>{_style()}</style></head>\n"
        f"<body><main>\n{body}</main></body></html>\n"
    )


def _name(job: Digest) -> str:
    return job.started.job if job.started else "Job without a beginning"


def _head(context: Context) -> str:
    job = context.job
    title = name_words(job.started.procedure) if job.started else ""
    if context.procedure is not None:
        title = context.procedure.title
    facts = [("Date", _date(context)), ("Time", _span(context))]
    facts += [(name_words(k), v) for k, v in (job.started.site if job.started else {}).items()]
    rows = "".join(f"<div><dt>{escape(k)}</dt><dd>{escape(v)}</dd></div>" for k, v in facts)
    return (
        f'<header><p class="kind">Job record</p><h1>{escape(_name(job))}</h1>'
        f'<p class="procedure">{escape(title)}</p><dl>{rows}</dl></header>\n'
    )


def _date(context: Context) -> str:
    if context.job.first_at is None:
        return "no events"
    at = context.local(context.job.first_at)
    return f"{at.day} {at:%B %Y}"


def _span(context: Context) -> str:
    job = context.job
    if job.first_at is None or job.last_at is None:
        return ""
    first, last = context.local(job.first_at), context.clock(job.last_at).rsplit(":", 1)[0]
    return f"{first:%H:%M} to {last} ({_length(job.duration)}) {first:%Z}".rstrip()


def _length(span: timedelta) -> str:
    hours, minutes = divmod(round(span.total_seconds() / 60), 60)
    return f"{hours} h {minutes:02d} min" if hours else f"{minutes} min"


def _glance(context: Context) -> str:
    """The few facts that a reader wants first."""
    job = context.job
    ending = name_words(job.finished.ending) if job.finished else "Not closed"
    early = job.finished is None or job.finished.ending == "stopped-early"
    boxes = [("Ending", ending, "", "open" if early else "")]
    for about in ("nitrogen", "decay"):
        given = [r.event for r in job.results if r.event.about == about and not r.withdrawn_at]
        if given:
            name = headline(about, "").rstrip(": ")
            boxes.append((name, name_words(given[-1].verdict), "", tone(given[-1].verdict)))
    boxes += [(label, value, more, "") for label, value, more in _counts(job)]
    cells = "".join(
        f'<div class="{css}"><dt>{escape(label)}</dt><dd>{escape(value)}</dd>'
        f'<p class="dim">{escape(more)}</p></div>'
        for label, value, more, css in boxes
    )
    return f'<dl class="glance">{cells}</dl>\n'


def _counts(job: Digest) -> list[tuple[str, str, str]]:
    """Label, figure and what to add to it."""
    found = []
    counted = [v for r in job.of("vacuum") if (v := r.counts) is not None]
    if counted:
        found.append(("Deepest vacuum", said_value(min(counted, key=lambda v: v.si)), ""))
    skipped = sum(v.state == "skipped" for v in job.visits)
    done = sum(v.state == "done" for v in job.visits)
    found.append(("Steps done", f"{done:,}", f"{skipped} skipped" if skipped else ""))
    kept = [r for r in job.readings if r.counts is not None]
    changes = [
        (sum(bool(r.struck) for r in kept), "corrected"),
        (len(job.readings) - len(kept), "withdrawn"),
    ]
    more = ", ".join(f"{number} {what}" for number, what in changes if number)
    found.append(("Readings", f"{len(kept):,}", more))
    return found


def _curve(context: Context) -> str:
    drawing = curve_svg(context.job, _limits_asked(context))
    if not drawing:
        return ""
    caption = (
        "Vacuum against time on a logarithmic scale. Shaded: standing-vacuum test. Dashed: limit. "
        "Hollow and struck through: corrected or withdrawn."
    )
    return section(
        "Vacuum", f"<figure>{drawing}<figcaption>{caption}</figcaption></figure>", "whole")


def _limits_asked(context: Context) -> list[tuple[str, float]]:
    """The vacuum limits of the steps that were worked on: (label, absolute Pa)."""
    if context.procedure is None:
        return []
    worked = {visit.step for visit in context.job.visits}
    named = {
        need.high: None for step in context.procedure.steps if step.name in worked
        for need in step.needs if need.quantity == "vacuum" and need.high
    }
    found = []
    for name in named:
        limit = context.procedure.limits[name]
        try:
            level = to_si(limit.value, limit.unit, context.site.atmosphere_pa)
        except ReadingError:
            continue
        found.append((f"{name_words(name)} {limit}", level))
    return found


def _record(
    context: Context, entries: Sequence[Entry], integrity: Integrity | None, fault: str
) -> str:
    """Whether the log can be trusted, and from what it was made."""
    job = context.job
    intact = "not checked" if integrity is None else integrity.statement
    css = "" if integrity is None else "good" if integrity.intact else "bad"
    rows = [
        ("Integrity", f'<span class="{css}">{escape(intact)}</span>'),
        ("Events", f"{len(entries):,}"),
    ]
    if job.started:
        rows.append(("Made with", escape(f"Fieldvoice {job.started.fieldvoice}")))
        rows.append(("Procedure", f"{escape(job.started.procedure)}, SHA-256 "
                                  f"<code>{escape(job.started.procedure_sha256)}</code>"))
    if fault:
        rows.append(("Procedure text", f'<span class="bad">cannot be read: {escape(fault)}</span>'))
    rows += [("Resumed", context.clock(entry.at)) for entry in job.resumed]
    return table(("", ""), rows, "figures") + f'<p class="dim">{escape(PRECEDENCE)}</p>'


def _signatures() -> str:
    return '<div class="sign"><div>Technician, date</div><div>Customer, date</div></div>\n'


def _complete(context: Context, entries: Sequence[Entry]) -> str:
    """Every event in order; folded away on screen, left out on paper."""
    rows = []
    for entry in entries:
        event = entry.event
        sound = context.clip_link(event.clip) if isinstance(event, e.LineHeard) else ""
        words = escape(describe(event)) + sound
        rows.append((str(entry.seq), context.clock(entry.at), words))
    body = table(("No.", "Time", "What"), rows, "log")
    if not body:
        return ""
    return f"<details><summary>Complete log, {len(rows):,} events</summary>{body}</details>\n"
