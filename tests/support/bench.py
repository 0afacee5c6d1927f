"""A job on the test bench: say lines and let time pass, with every event folded twice over."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, datetime, timedelta
from decimal import Decimal

from fieldvoice.dialogue import assistant
from fieldvoice.dialogue.assistant import Heard, Outcome, Reply, Tick
from fieldvoice.jobstate import events as e
from fieldvoice.jobstate.state import JobState, fold
from fieldvoice.language import intents as i
from fieldvoice.procedure.check import load
from fieldvoice.procedure.model import Procedure

START = datetime(2026, 5, 4, 9, 0, tzinfo=UTC)


class Bench:
    """Drives the assistant with intents and a clock moved by hand."""

    def __init__(
        self, procedure: Procedure | str, site: Mapping[str, str] | None = None,
        depth: str | None = None,
    ) -> None:
        self.procedure = load(procedure) if isinstance(procedure, str) else procedure
        self.state = JobState.empty(self.procedure)
        self.now = START
        self.log: list[e.Entry] = []
        self.replies: list[Reply] = []  # of the last turn
        self.take_in(assistant.begin(self.state, self.now, "bench", dict(site or {}),
                                     depth=depth))

    def take_in(self, outcome: Outcome) -> None:
        """Log an outcome and fold it anew: the state that came with it must be the same."""
        self.log += outcome.entries
        self.state = fold(self.state, outcome.entries)
        assert self.state == outcome.state
        self.replies = list(outcome.replies)

    def happen(self, event: e.Event) -> None:
        """An event without a line that brought it."""
        entry = e.Entry(self.state.next_seq, self.now, event)
        self.log.append(entry)
        self.state = fold(self.state, [entry])

    def say(
        self, intent: i.Intent, *, confidence: float | None = None, words: str = "",
        clip: str | None = None,
    ) -> str:
        """A line comes in; returns all replies as one text."""
        source = "typed" if confidence is None else "voice"
        heard = Heard(intent, words or intent.name(), source, confidence,
                      None if clip is None else e.Clip(clip))
        self.take_in(assistant.handle(self.state, heard, self.now))
        return self.text

    def read(
        self, value: float | str, unit: str | None = None, quantity: str | None = None,
        confidence: float | None = None,
    ) -> str:
        """A reading comes in."""
        return self.say(i.Reading(Decimal(str(value)), unit, quantity), confidence=confidence,
                        words=str(value))

    def wait(self, minutes: float = 0.0, seconds: float = 0.0) -> str:
        """Time passes, then one tick."""
        self.now += timedelta(minutes=minutes, seconds=seconds)
        self.take_in(assistant.handle(self.state, Tick(), self.now))
        return self.text

    def resume(self) -> str:
        """The process starts again: the state is read back from the log."""
        self.state = self.refolded()
        self.take_in(assistant.resume(self.state, self.now))
        return self.text

    def refolded(self) -> JobState:
        """The state as a fresh process would have it."""
        return fold(JobState.empty(self.procedure), self.log)

    @property
    def text(self) -> str:
        """All replies of the last turn."""
        return " ".join(r.told for r in self.replies)

    @property
    def tones(self) -> list[str]:
        """Their tones, in order."""
        return [r.tone for r in self.replies]

    def kinds(self) -> list[str]:
        """Kinds of every event so far, without what was heard and said."""
        return [v.event.kind for v in self.log if v.event.kind not in ("line-heard", "said")]

    def events(self, kind: type[e.Event]) -> list[e.Event]:
        """Every event of one kind."""
        return [v.event for v in self.log if isinstance(v.event, kind)]

    def seq(self, kind: type[e.Event]) -> int:
        """Number of the newest event of a kind."""
        return next(v.seq for v in reversed(self.log) if isinstance(v.event, kind))
