"""What stands at the top of a report: its name, its facts, and what it is not."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import timedelta
from typing import Any

from fieldvoice.jobstate import events as e
from fieldvoice.jobstate.events import Entry, last_worked_on
from fieldvoice.quantity.facts import called
from fieldvoice.review.event_words import amended_words, describe
from fieldvoice.review.logged_job import LoggedUnits
from fieldvoice.review.page_sound import Clip
from fieldvoice.review.wording import Context, name_words

ON_THE_CLOCK = (e.ClockJumped, e.Restarted, e.ClockJudged)  # what the times of a job rest on

_BANNERS = {
    e.PRACTICE: "PRACTICE in simulated time: no hold was held and nothing was measured at a unit",
    e.REPLAY: "REPLAY of recorded lines in simulated time: nothing was measured at a unit",
    e.RECORDING: "Heard afterwards from a sound recording made on site: nobody was answered there, "
                 "and each time is that of the recording",
}
_KINDS = {e.PRACTICE: "Practice record", e.REPLAY: "Replay record"}


def heading(context: Context, job: LoggedUnits, shared: Mapping[str, str]) -> dict[str, Any]:
    """What the page is called, and what is told at its top."""
    mode, started = context.state.mode, context.state.history.started
    return {
        "banner": _BANNERS.get(mode, ""), "kind": _KINDS.get(mode, "Job record"),
        "started": started, "name": started.job if started else "Job without a beginning",
        "place": shared.get("place", "") or shared.get("customer", ""), "date": _date(context),
        "facts": list(_facts(context, job, shared)),
    }


def shared_facts(job: LoggedUnits) -> dict[str, str]:
    """What all units were told alike; it stands at the top, the rest with its unit."""
    told = [unit.state.facts.items() for unit in job.units.values()]
    return dict(pair for pair in told[0] if all(pair in others for others in told))


def _facts(
    context: Context, job: LoggedUnits, shared: Mapping[str, str]
) -> Iterator[tuple[str, str, Clip | None]]:
    """Label, value, and the sound of a name that was only spoken."""
    yield "Date", _date(context), None
    yield "Time", _span(context, job.entries), None
    for entry in job.entries:
        if isinstance(entry.event, ON_THE_CLOCK):
            yield "Clock", f"{context.clock(entry.at)}: {describe(entry.event)}", None
        elif isinstance(entry.event, e.OwnVoiceUsed):
            yield "Hearing", f"{context.clock(entry.at)}: {describe(entry.event)}", None
    yield from ((name_words(called(name)), *told_fact(context, name, fact))
                for name, fact in shared.items())


def told_fact(context: Context, name: str, value: str) -> tuple[str, Clip | None]:
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
