"""The job report: one self-contained HTML page, made from the job's state and its log.

What is shown is worked out here as plain values; the markup is in templates/, which escape them.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import timedelta, tzinfo
from functools import cache
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined, Template

from fieldvoice.jobstate import events as e
from fieldvoice.jobstate.events import Entry, last_worked_on
from fieldvoice.quantity.convert import to_si
from fieldvoice.quantity.errors import ReadingError
from fieldvoice.quantity.facts import called
from fieldvoice.review import out_of_turn
from fieldvoice.review import report_lists as lists
from fieldvoice.review.curve import STYLE as CURVE_STYLE
from fieldvoice.review.curve import curve_svg
from fieldvoice.review.event_words import amended_words, describe
from fieldvoice.review.figures import headline
from fieldvoice.review.glance import RESULTS, Box, boxes
from fieldvoice.review.logged_job import LoggedJob, LoggedUnits
from fieldvoice.review.page.attached import Shown
from fieldvoice.review.page.policy import page_parts
from fieldvoice.review.page_sound import LINKED, Clip, PageSounds
from fieldvoice.review.report_steps import stages
from fieldvoice.review.wording import Context, name_words

PRECEDENCE = (
    "Local codes, the equipment's own instructions and licensed practice come first. "
    "A standing-vacuum test of minutes cannot see the very small leaks that codes speak of."
)

ON_THE_CLOCK = (e.ClockJumped, e.Restarted, e.ClockJudged)  # what the times of a job rest on

_BANNERS = {
    e.PRACTICE: "PRACTICE in simulated time: no hold was held and nothing was measured at a unit",
    e.REPLAY: "REPLAY of recorded lines in simulated time: nothing was measured at a unit",
    e.RECORDING: "Heard afterwards from a sound recording made on site: nobody was answered there, "
                 "and each time is that of the recording",
}
_KINDS = {e.PRACTICE: "Practice record", e.REPLAY: "Replay record"}


@dataclass(frozen=True)
class Integrity:
    """What the caller found when it checked the job's folder."""

    intact: bool
    statement: str  # "Every line matches the hash that the next one carries; last hash ab12..."
    head: str = ""  # the short hash: the first letters of the last line's
    faults: tuple[str, ...] = ()  # what is not as it was written


@cache
def _template() -> Template:
    environment = Environment(
        loader=PackageLoader("fieldvoice.review"), autoescape=True, undefined=StrictUndefined,
        trim_blocks=True, lstrip_blocks=True)
    return environment.get_template("report.html.j2")


def report_html(
    job: LoggedJob | LoggedUnits, *, clips_at: str | None = "", integrity: Integrity | None = None,
    zone: tzinfo | None = None, sounds: PageSounds | None = None,
    photos: Sequence[Shown] = (),
) -> str:
    """The whole report, unit by unit; linear in the entries, everything from them is escaped.

    `clips_at`: where clips are found: "" when the page lies in the job's folder, else that folder's
    URL with a slash at its end; None leaves them named, not linked.
    `integrity`: the result of checking the log; None says that it was not checked.
    `sounds`: the clips as the page has them; None links them under `clips_at`, unseen.
    `photos`: the files kept with the job.
    `zone`: time zone of the times shown; None leaves them as they are in the entries.
    """
    if isinstance(job, LoggedJob):
        job = LoggedUnits(job.entries, {"": job})
    contexts = {name: Context(unit, clips_at, zone, sounds) for name, unit in job.units.items()}
    context = next(iter(contexts.values()))
    return _template().render(
        banner=_BANNERS.get(context.state.mode, ""),
        kind=_KINDS.get(context.state.mode, "Job record"), clips_stopped=_clips_kept(job),
        started=context.state.history.started, title=_titles(contexts.values()),
        facts=list(_facts(context, job, shared := _shared_facts(job))),
        units=[_unit(name, one, shared) for name, one in contexts.items()],
        resumed=[context.clock(at) for at in context.state.history.resumed], integrity=integrity,
        precedence=PRECEDENCE, log=list(_complete(context, job)), sounds=sounds,
        photos=photos, **page_parts(CURVE_STYLE, linked=sounds is None or sounds.mode == LINKED),
    )


def _clips_kept(job: LoggedUnits) -> str:
    """Whether sound of lines is missing because it was not to be kept."""
    decided = [entry.event.kept for entry in job.entries if isinstance(entry.event, e.ClipsKept)]
    if not decided or all(decided):
        return ""
    return "not kept for a part of the job" if any(decided) else "not kept, as was asked for"


def _shared_facts(job: LoggedUnits) -> dict[str, str]:
    """What all units were told alike; it stands at the top, the rest with its unit."""
    told = [unit.state.facts.items() for unit in job.units.values()]
    return dict(pair for pair in told[0] if all(pair in others for others in told))


def _unit(name: str, context: Context, shared: Mapping[str, str]) -> dict[str, Any]:
    """What the page shows of one unit."""
    own = {k: v for k, v in context.state.facts.items() if k not in shared}
    return {
        "facts": [(name_words(called(fact)), *_told(context, fact, value))
                  for fact, value in own.items()],
        "name": name[:1].upper() + name[1:], "title": _title(context),
        "started": context.state.history.started, "fault": context.job.fault,
        "summary": _summary(context), "boxes": list(boxes(context)),
        "curve": curve_svg(context.state, _limits_asked(context)),
        "results": lists.results(context), "stages": list(stages(context)),
        "skipped": lists.skipped(context), "corrections": list(lists.corrections(context)),
        "notes": lists.notes(context), "cautions": lists.cautions(context),
        "timers": lists.timers(context), "limits": lists.limits(context),
        "left_open": out_of_turn.left_open(context),
        "carried_steps": out_of_turn.carried_steps(context),
        "carried_tests": out_of_turn.carried_tests(context),
        "reopenings": list(out_of_turn.reopenings(context)),
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


def _facts(
    context: Context, job: LoggedUnits, shared: Mapping[str, str]
) -> Iterator[tuple[str, str, Clip | None]]:
    """Label, value, and the sound of a name that was only spoken."""
    yield "Date", _date(context), None
    yield "Time", _span(context, job.entries), None
    for entry in job.entries:
        if isinstance(entry.event, ON_THE_CLOCK):
            yield "Clock", f"{context.clock(entry.at)}: {describe(entry.event)}", None
    yield from ((name_words(called(name)), *_told(context, name, fact))
                for name, fact in shared.items())


def _told(context: Context, name: str, value: str) -> tuple[str, Clip | None]:
    """A fact; one that was told after the start with when, and how it came in."""
    amended = context.state.amended.get(name)
    if amended is not None:
        return f"{value} ({amended_words(amended, context.clock(amended.at))})", None
    told = context.state.told.get(name)
    if told is None:
        return value, None
    heard = context.state.history.line(told.line)
    how = "when work went on" if heard is None else heard.source
    clip = None if heard is None else context.clip(heard.clip)
    return f"{value} (told {context.clock(told.at)}, {how})", clip


def _date(context: Context) -> str:
    began = context.state.history.began
    if began is None:
        return "no events"
    at = context.local(began)
    return f"{at.day} {at:%B %Y}"


def _span(context: Context, entries: Sequence[Entry]) -> str:
    began, last_at = context.state.history.began, last_worked_on(entries)
    if began is None or last_at is None:
        return ""
    first, last = context.local(began), context.clock(last_at).rsplit(":", 1)[0]
    return f"{first:%H:%M} to {last} ({_length(last_at - began)}) {first:%Z}".rstrip()


def _length(span: timedelta) -> str:
    hours, minutes = divmod(round(span.total_seconds() / 60), 60)
    return f"{hours} h {minutes:02d} min" if hours else f"{minutes} min"


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


def _complete(
    context: Context, job: LoggedUnits
) -> Iterator[tuple[int, str, str, str, Clip | None]]:
    """Every event in order: number, time, unit, what, sound."""
    first = next(iter(job.units))
    for entry in job.entries:
        event = entry.event
        clip = context.clip(event.clip) if isinstance(event, e.LineHeard) else None
        yield entry.seq, context.clock(entry.at), entry.unit or first, describe(event), clip
