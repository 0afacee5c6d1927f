"""How a value came in: what was heard first, what was asked back, and the answer."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from fieldvoice.jobstate import events as e
from fieldvoice.jobstate.events import Entry

_COUNTS = ("yes", "replaced")  # answers after which the line that was asked about counts


@dataclass(frozen=True)
class AskedBack:
    """A line that was asked about before it counted, and the question as it was put."""

    line: int  # seq
    question: str


def asked_back(entries: Iterable[Entry]) -> Mapping[int, AskedBack]:
    """By the seq of the line that answered: what had been asked."""
    asked: dict[int, AskedBack] = {}  # by seq of the question
    found: dict[int, AskedBack] = {}
    line = waiting = 0
    for entry in entries:
        event = entry.event
        if isinstance(event, e.LineHeard):
            line, waiting = entry.seq, 0
        elif isinstance(event, e.Asked | e.UnitAsked):
            asked[entry.seq], waiting = AskedBack(event.line, ""), entry.seq
        elif isinstance(event, e.Said) and event.tone == "question" and waiting:
            asked[waiting], waiting = AskedBack(asked[waiting].line, event.text), 0
        elif (isinstance(event, e.Answered) and event.answer in _COUNTS
              and event.asked in asked and asked[event.asked].line < line):
            found[line] = asked[event.asked]
    return found
