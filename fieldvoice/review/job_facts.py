"""What a list of jobs is searched by: place, technician, customer and verdicts, from the log alone.
"""

from __future__ import annotations

from collections.abc import Sequence

from fieldvoice.jobstate.events import (
    Entry,
    FactTold,
    HeaderAmended,
    JobStarted,
    VerdictGiven,
    Withdrawn,
)
from fieldvoice.review.figures import judged_name

SEARCHED = ("place", "address", "customer", "technician")
# kinds of events that tell nothing of how a job stands; most lines of a log are of them
SAYS_NOTHING = frozenset((b"said", b"line-heard", b"reading-taken", b"reading-corrected",
                          b"reminded", b"caution-acknowledged", b"stage-entered", b"stage-left"))


_ANSWERS = ("forecast", "charge")  # worked out when asked for: nothing of the job is judged


def told_facts(entries: Sequence[Entry], wanted: Sequence[str] = SEARCHED) -> dict[str, str]:
    """The newest word on each of those wanted, as far as there is one that counts."""
    gone = _gone(entries)
    found: dict[str, str] = {}
    for entry in entries:
        event = entry.event
        if isinstance(event, JobStarted):
            found |= event.site
        elif isinstance(event, FactTold | HeaderAmended) and entry.seq not in gone:
            found[event.fact] = event.value
    return {name: found[name] for name in wanted if name in found}


def verdicts(entries: Sequence[Entry]) -> list[str]:
    """What the steps of the job were judged, in order: "decay tight"."""
    return [f"{event.about} {event.verdict}" for event in _judged(entries)]


def results(entries: Sequence[Entry]) -> list[str]:
    """The same as a person calls it: "Standing vacuum tight"."""
    return [f"{judged_name(event.about)} {event.verdict.replace('-', ' ')}"
            for event in _judged(entries)]


def _judged(entries: Sequence[Entry]) -> list[VerdictGiven]:
    gone = _gone(entries)
    return [entry.event for entry in entries
            if isinstance(entry.event, VerdictGiven) and entry.event.step is not None
            and entry.event.about not in _ANSWERS and entry.seq not in gone]


def _gone(entries: Sequence[Entry]) -> set[int]:
    taken: dict[int, int] = {}  # seq of a withdrawal -> what it took
    gone: set[int] = set()
    for entry in entries:
        if not isinstance(entry.event, Withdrawn):
            continue
        before = taken.get(entry.event.withdraws)
        if before is None:
            gone.add(entry.event.withdraws)
        else:  # taking that back puts it back
            gone.discard(before)
        taken[entry.seq] = entry.event.withdraws
    return gone
