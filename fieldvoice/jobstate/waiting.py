"""What waits for the technician: standing by, an open note, an open question; and since when."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime, timedelta

from fieldvoice.jobstate import events as e
from fieldvoice.jobstate.draft import Draft
from fieldvoice.jobstate.records import Waiting

STANDING_BY, NOTE, QUESTION = "standing by", "note", "question"
# how long until the technician is reminded of it, and whether again each time so long has passed
_REMIND = {STANDING_BY: (10, True), NOTE: (10, True), QUESTION: (2, False)}
_BEGINS: dict[type[e.Event], str] = {
    e.StoodBy: STANDING_BY, e.NoteOpened: NOTE, e.Asked: QUESTION,
}
_ENDS: dict[type[e.Event], str] = {
    e.BackAtWork: STANDING_BY, e.NoteTaken: NOTE, e.Answered: QUESTION, e.JobFinished: QUESTION,
}


def keep_waiting(draft: Draft, event: e.Event, at: datetime) -> None:
    """Keep what begins to wait, what waits no more, and what was reminded of."""
    begins, ends = _BEGINS.get(type(event)), _ENDS.get(type(event))
    if ends is not None:
        draft.waiting = [w for w in draft.waiting if w.what != ends]
        if ends == QUESTION and draft.questions:  # the next one is put now
            begins = QUESTION
    if begins is not None and waits(draft.waiting, begins) is None:
        draft.waiting.append(Waiting(begins, at))
    if isinstance(event, e.Said) and event.tone == "question":
        _change(draft, QUESTION, since=at)
    if isinstance(event, e.Reminded):
        _change(draft, event.label, reminded=event.mark)


def _change(
    draft: Draft, what: str, *, since: datetime | None = None, reminded: str = ""
) -> None:
    found = waits(draft.waiting, what)
    if found is None:
        return
    minutes = reminded.removesuffix(" min")
    draft.waiting[draft.waiting.index(found)] = replace(
        found, since=since or found.since,
        reminded=int(minutes) if minutes.isdecimal() else found.reminded)


def waits(waiting: Iterable[Waiting], what: str) -> Waiting | None:
    """What waits under that name; None: it does not."""
    return next((w for w in waiting if w.what == what), None)


def mark_to_call(waiting: Waiting, now: datetime) -> int | None:
    """The minute of the reminder that has come and was not given; None: none has."""
    every, again = _REMIND[waiting.what]
    passed = int((now - waiting.since) / timedelta(minutes=1))
    mark = passed // every * every if again else min(passed // every, 1) * every
    return mark if mark > waiting.reminded else None
