"""The job report as one HTML page, made from the job's state and its log.

What is shown is worked out here as plain values; the markup is in templates/, which escape them.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import tzinfo
from functools import cache
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined, Template

from fieldvoice.jobstate import events as e
from fieldvoice.quantity.convert import to_si
from fieldvoice.quantity.errors import ReadingError
from fieldvoice.quantity.facts import called
from fieldvoice.quantity.unit_systems import SYSTEMS, system_of
from fieldvoice.review.curve import NARROW, WIDE, drawn
from fieldvoice.review.curve import STYLE as CURVE_STYLE
from fieldvoice.review.figures import headline
from fieldvoice.review.hearing import asked_back
from fieldvoice.review.logged_job import LoggedJob, LoggedUnits
from fieldvoice.review.page_sound import LINKED, PageSounds
from fieldvoice.review.report import lists, out_of_turn, reviewed
from fieldvoice.review.report.arithmetic import sums
from fieldvoice.review.report.attached import Shown
from fieldvoice.review.report.attempts import moments
from fieldvoice.review.report.breaks import breaks
from fieldvoice.review.report.complete import Paragraph, complete
from fieldvoice.review.report.curve_table import curve_rows
from fieldvoice.review.report.glance import RESULTS, Box, boxes
from fieldvoice.review.report.heading import heading, shared_facts, told_fact
from fieldvoice.review.report.integrity import Integrity, mark_svg, mark_text
from fieldvoice.review.report.outcome import outcome
from fieldvoice.review.report.policy import page_parts
from fieldvoice.review.report.steps import stages
from fieldvoice.review.report.versions import OFFICE, Version, css_text, paper_of, version_of
from fieldvoice.review.vacuum import vacuum_curve
from fieldvoice.review.wording import Context, name_words

PRECEDENCE = (
    "Local codes, the equipment's own instructions and licensed practice come first. "
    "A standing-vacuum test of minutes cannot see the very small leaks that codes speak of."
)

@cache
def _template() -> Template:
    environment = Environment(
        loader=PackageLoader("fieldvoice.review"), autoescape=True, undefined=StrictUndefined,
        trim_blocks=True, lstrip_blocks=True)
    return environment.get_template("report.html.j2")


def report_html(
    job: LoggedJob | LoggedUnits, *, clips_at: str | None = "", integrity: Integrity | None = None,
    zone: tzinfo | None = None, version: str = OFFICE, paper: str = "a4", units: str | None = None,
    sounds: PageSounds | None = None, photos: Sequence[Shown] = (),
) -> str:
    """The whole report, unit by unit; linear in the entries, everything from them is escaped.

    `clips_at`: where clips are found: "" when the page lies in the job's folder, else that folder's
    URL with a slash at its end; None leaves them named, not linked.
    `integrity`: the result of checking the log; None says that it was not checked.
    `sounds`: the clips as the page has them; None links them under `clips_at`, unseen.
    `photos`: the files kept with the job.
    `zone`: time zone of the times shown; None leaves them as they are in the entries.
    `version`, `paper`: of versions.py. `units`: "metric" or "us", beside what was said where they
    differ; None takes those of the site. Raises ValueError for a name that none of them has.
    """
    if isinstance(job, LoggedJob):
        job = LoggedUnits(job.entries, {"": job})
    told, sheet = version_of(version), paper_of(paper)
    contexts = _contexts(job, clips_at, zone, units, sounds)
    context = next(iter(contexts.values()))
    shared = shared_facts(job)
    return _template().render(
        heading(context, job, shared), version=told, paper=sheet, integrity=integrity,
        units=[_unit(name, one, shared, told) for name, one in contexts.items()],
        title=_titles(contexts.values()), clips_stopped=_clips_kept(job), photos=photos,
        resumed=[context.clock(at) for at in context.state.history.resumed],
        added=list(reviewed.added(context, list(job.entries))), precedence=PRECEDENCE,
        events=len(job.entries), log=_log(context, job) if told.judged else [],
        mark=_mark(context, job, integrity), css_text=css_text, sounds=sounds,
        **page_parts(CURVE_STYLE, linked=sounds is None or sounds.mode == LINKED),
    )


def _contexts(
    job: LoggedUnits, clips_at: str | None, zone: tzinfo | None, units: str | None,
    sounds: PageSounds | None,
) -> dict[str, Context]:
    if units not in (None, *SYSTEMS):
        raise ValueError(f"no units are called {units!r}: give one of {', '.join(SYSTEMS)}")
    gaps, asked = breaks(job.entries), asked_back(job.entries)
    return {name: Context(unit, clips_at, zone, units or system_of(unit.state.facts), gaps, asked,
                          sounds) for name, unit in job.units.items()}


def _log(context: Context, job: LoggedUnits) -> list[Paragraph]:
    return list(complete(context, job.entries, next(iter(job.units))))


def _mark(context: Context, job: LoggedUnits, integrity: Integrity | None) -> dict[str, Any] | None:
    """The QR code and the words that it holds; None where the hash is not known."""
    if integrity is None or not integrity.head:
        return None
    text = mark_text(context.state.job, len(job.entries), integrity.head)
    return {"text": text, "svg": mark_svg(text)}


def _clips_kept(job: LoggedUnits) -> str:
    """Whether sound of lines is missing because it was not to be kept."""
    decided = [entry.event.kept for entry in job.entries if isinstance(entry.event, e.ClipsKept)]
    if not decided or all(decided):
        return ""
    return "not kept for a part of the job" if any(decided) else "not kept, as was asked for"


def _unit(
    name: str, context: Context, shared: Mapping[str, str], version: Version
) -> dict[str, Any]:
    """What the page shows of one unit; what its version leaves out is not worked out."""
    curve = vacuum_curve(context.state, _limits_asked(context), context.breaks)
    found = {
        "name": name[:1].upper() + name[1:], "title": _title(context),
        "started": context.state.history.started, "fault": context.job.fault,
        "outcome": outcome(context), "moments": moments(context), "summary": _summary(context),
        "wide": drawn(curve, WIDE) if curve else "",
        "narrow": drawn(curve, NARROW) if curve else "",
        "points": curve_rows(curve, context) if curve else [],
        "left_open": (out_of_turn.left_open if version.work
                      else out_of_turn.left_open_together)(context),
        "carried_tests": out_of_turn.carried_tests(context),
        "reopenings": list(out_of_turn.reopenings(context)), "boxes": list(boxes(context)),
    }
    return {**found, **_own_facts(context, shared), **(_details(context) if version.work else {})}


def _own_facts(context: Context, shared: Mapping[str, str]) -> dict[str, Any]:
    own = {k: v for k, v in context.state.facts.items() if k not in shared}
    return {
        "facts": [(name_words(called(fact)), *told_fact(context, fact, value))
                  for fact, value in own.items()],
    }


def _details(context: Context) -> dict[str, Any]:
    """What the office and an inspector are shown beside."""
    return {
        "results": lists.results(context), "stages": list(stages(context)),
        "sums": sums(context), "skipped": lists.skipped(context),
        "corrections": list(lists.corrections(context)), "notes": lists.notes(context),
        "cautions": lists.cautions(context), "timers": lists.timers(context),
        "limits": lists.limits(context), "carried_steps": out_of_turn.carried_steps(context),
    }


def _summary(context: Context) -> list[Box]:
    """A unit's row in the table of units: its procedure, ending, result, and deepest vacuum."""
    found = {box.label: box for box in boxes(context)}
    results = [found[name] for about in RESULTS
               if (name := headline(about, "").rstrip(": ")) in found]
    told = Box("", ", ".join(f"{box.label}: {box.value}" for box in results),
               tone=results[-1].tone if results else "")
    return [Box("", _title(context)), found["Ending"], told,
            found.get("Deepest vacuum", Box("", ""))]


def _titles(contexts: Iterable[Context]) -> str:
    """Of the procedures, each once."""
    return "; ".join(dict.fromkeys(_title(context) for context in contexts))


def _title(context: Context) -> str:
    """Of the procedure; its name where the text cannot be read."""
    started = context.state.history.started
    return context.state.procedure.title or (name_words(started.procedure) if started else "")


def _limits_asked(context: Context) -> list[tuple[str, float]]:
    """The vacuum limits of the steps that were worked on: (label, absolute Pa)."""
    procedure = context.state.procedure
    worked = {visit.step for visit in context.state.history.visits}
    named = {
        need.high: None for step in procedure.steps if step.name in worked
        for need in step.needs if need.quantity == "vacuum" and need.high
    }
    found = []
    for name in named:
        limit = procedure.limits[name]
        try:
            level = to_si(limit.value, limit.unit, context.job.site.atmosphere_pa)
        except ReadingError:
            continue
        found.append((f"{name_words(name)} {limit}", level))
    return found
