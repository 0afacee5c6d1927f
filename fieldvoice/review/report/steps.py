"""The report's main part: what was done, step by step, with the values and who said them."""

from __future__ import annotations

import re
from bisect import bisect
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import groupby
from typing import Protocol, TypeVar

from fieldvoice.jobstate import events as e
from fieldvoice.jobstate.records import (
    Acknowledgement,
    BranchChoice,
    LoggedReading,
    ReadingValue,
    Result,
    StepVisit,
)
from fieldvoice.procedure.check import PLACEHOLDER
from fieldvoice.review.figures import headline
from fieldvoice.review.report.after_work import amended
from fieldvoice.review.wording import Context, Quote, name_words, quantity_words, tone

Deed = Acknowledgement | BranchChoice | Result
_STATES = {
    "done": ("✓", "done"), "skipped": ("»", "skipped"), "open": ("○", "open when the log ends"),
    "listed": ("○", "listed, not done"),
    "left": ("↷", "left without being done"), "taken back": ("↶", "taken back"),
}  # fmt: skip


@dataclass(frozen=True)
class DeedShown:
    """A caution, a way or a result within a step."""

    kind: str  # "caution", "way" or "verdict"
    words: str
    why: str  # of a way
    tone: str  # of a verdict
    gone: bool
    said: Quote | None


@dataclass(frozen=True)
class ValueShown:
    """A value that a reading had; those that do not count are struck through."""

    quantity: str
    value: str
    counts: bool
    standing: tuple[str, str]  # words and class: inside the limits?
    time: str
    minute: float | None  # of the hold
    said: Quote | None
    amended: str  # after the work: what it was, who put it right and why


@dataclass(frozen=True)
class VisitShown:
    """One opening of a step and what came of it."""

    state: str
    mark: str
    state_words: str
    title: str
    times: str
    text: str  # what the step says
    cautions: list[DeedShown]
    values: list[ValueShown]
    deeds: list[DeedShown]
    reason: str  # of a skipped one
    said: Quote | None  # that closed it
    listed: bool  # done in a list

    @property
    def plain(self) -> bool:
        """Done, and nothing more to tell of it."""
        return self.state == "done" and not (self.cautions or self.values or self.deeds)

    @property
    def passed_over(self) -> bool:
        """Skipped by the procedure itself: nobody said so."""
        return self.state == "skipped" and self.said is None and not (self.values or self.deeds)


class _OfStep(Protocol):
    @property
    def seq(self) -> int: ...
    @property
    def step(self) -> str | None: ...


_R = TypeVar("_R", bound=_OfStep)


def stages(context: Context) -> Iterator[tuple[str, list[VisitShown]]]:
    """All visits of all steps, in the order of the job, under the titles of their stages."""
    visits = context.state.history.visits
    shown = _Visits(context)
    for title, of_stage in groupby(visits, key=lambda visit: _stage(context, visit)):
        yield title, [shown.visit(v) for v in of_stage]


def _stage(context: Context, visit: StepVisit) -> str:
    """The title of its stage; of a step of a list the log does not say it, the procedure does."""
    step = context.state.procedure.by_name.get(visit.step)
    name = visit.stage or (step.stage if step else "")
    known = context.state.procedure.stages.get(name)
    return known.title if known else name_words(name)


class _Visits:
    """The visits of a job, each with what came of it."""

    def __init__(self, context: Context) -> None:
        history = context.state.history
        deeds: list[Deed] = [*history.acknowledgements, *history.branches, *history.results]
        self.context = context
        self.readings = _by_visit(history.visits, history.readings)
        deeds.sort(key=lambda deed: deed.seq)
        self.deeds = _by_visit(history.visits, deeds)
        self.prompts = self._prompts()

    def _prompts(self) -> Mapping[int, list[str]]:
        """What was asked since each opening of a step, by its seq."""
        starts = [visit.seq for visit in self.context.state.history.visits]
        found: dict[int, list[str]] = defaultdict(list)
        for entry in self.context.job.entries:
            place = bisect(starts, entry.seq)
            if place and isinstance(entry.event, e.Said) and entry.event.tone == "prompt":
                found[starts[place - 1]] += entry.event.text.split("\n")
        return found

    def visit(self, visit: StepVisit) -> VisitShown:
        context, left = self.context, visit.exit
        readings = self.readings.get(visit.seq, [])
        deeds = self.deeds.get(visit.seq, [])
        quoted = {value.line for reading in readings for value in reading.values}
        state = context.state.history.standing(visit)
        closed_at = left.at if left else visit.left_at
        times = [context.clock(at) for at in (visit.at, closed_at) if at is not None]
        again = f" (visit {visit.visit})" if visit.visit > 1 else ""
        mark, words = _STATES[state]
        listed = left is not None and left.listed
        return VisitShown(
            state, mark, f"{words}, one of a list" if listed else words,
            name_words(visit.step) + again, " to ".join(times),
            self._asked(visit),
            [self._deed(d, quoted) for d in deeds if isinstance(d, Acknowledgement)],
            list(self._values(readings)),
            [self._deed(d, quoted) for d in deeds if not isinstance(d, Acknowledgement)],
            left.reason if left else "",
            self._once(left.line, quoted, left.reason) if left else None, listed,
        )

    def _asked(self, visit: StepVisit) -> str:
        """What the step says, with its values as they were filled in at the time."""
        known = self.context.state.procedure.by_name.get(visit.step)
        if known is None:
            return ""
        if not PLACEHOLDER.search(known.say):
            return known.say
        fixed = (re.escape(part) for part in PLACEHOLDER.split(known.say)[::2])
        pattern = re.compile(".*".join(fixed))
        said = (line for line in self.prompts.get(visit.seq, []) if pattern.fullmatch(line))
        return next(said, PLACEHOLDER.sub("…", known.say))

    def _once(self, line: int | None, quoted: set[int | None], unless: str = "") -> Quote | None:
        """What a line said, unless it stands in this step already."""
        if line in quoted:
            return None
        quoted.add(line)
        return self.context.heard(line, unless=unless)

    def _deed(self, deed: Deed, quoted: set[int | None]) -> DeedShown:
        gone = deed.seq in self.context.state.history.withdrawn
        said = self._once(deed.line, quoted)
        if isinstance(deed, Acknowledgement):
            return DeedShown("caution", self.context.caution(deed.caution), "", "", gone, said)
        if isinstance(deed, BranchChoice):
            return DeedShown("way", name_words(deed.option), deed.why, "", gone, said)
        words = headline(deed.about, deed.verdict)
        return DeedShown("verdict", words, "", tone(deed.verdict), gone, said)

    def _values(self, readings: list[LoggedReading]) -> Iterator[ValueShown]:
        context, in_force = self.context, self.context.state.values_in_force
        gone = context.state.history.withdrawn
        last = {r.quantity: r.seq for r in readings if r.seq not in gone}
        for reading in readings:
            is_last = last.get(reading.quantity) == reading.seq
            for before, value in zip((None, *reading.values), reading.values, strict=False):
                counts = value.seq in in_force
                standing = _standing(value, is_last) if counts else (
                    "withdrawn" if reading.seq in gone else "corrected", "dim")
                yield ValueShown(
                    quantity_words(reading.quantity), context.with_units(value), counts, standing,
                    context.clock(value.at), reading.minute if value.seq == reading.seq else None,
                    context.heard(value.line), amended(context, before, value),
                )


def _by_visit(visits: Iterable[StepVisit], records: Iterable[_R]) -> Mapping[int, list[_R]]:
    """The records by the opening of their step that they came after, by its seq."""
    starts: dict[str | None, list[int]] = {}
    for visit in visits:
        starts.setdefault(visit.step, []).append(visit.seq)
    found = defaultdict(list)
    for record in records:
        of_step = starts.get(record.step, [])
        place = bisect(of_step, record.seq)
        if place:
            found[of_step[place - 1]].append(record)
    return found


def _standing(value: ReadingValue, last: bool) -> tuple[str, str]:
    """What a value that counts came to: over the plate before all else."""
    if value.over_plate is not None:
        return f"✗ over the plate, {value.over_plate}", "bad"
    if value.unfit is not None:
        return f"noted, not counted: {value.unfit}", "bad"
    return _limits(value.within, last)


def _limits(within: bool | None, last: bool) -> tuple[str, str]:
    """Inside the limits? Only a step's last reading can fail them: a pump-down begins above."""
    if within is None:
        return "", ""
    if within:
        return "✓ within limit", ""
    return ("✗ outside limit", "bad") if last else ("not yet", "dim")
