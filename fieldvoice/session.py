"""The loop that joins ear, mind, log and mouth: hear -> understand -> handle -> log -> reply."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from datetime import datetime
from functools import partial

from fieldvoice.dialogue import assistant
from fieldvoice.dialogue.assistant import Heard, Outcome, Reply, Tick
from fieldvoice.dialogue.confidence import Hypothesis, Interpretation, best_interpretation
from fieldvoice.dialogue.expectation import is_expected
from fieldvoice.jobstate.events import Entry, Event
from fieldvoice.jobstate.state import JobState, fold
from fieldvoice.language.intents import Intent
from fieldvoice.language.parser import sounds_like_a_range, understand, whole_characters


def hypotheses(ways: Sequence[tuple[str, float]]) -> list[Hypothesis]:
    """The wordings that a sound can be heard as, with their shares, understood."""
    return [Hypothesis(understand(words, typed=False), words, share) for words, share in ways]


def likeliest(
    ways: Sequence[tuple[str, float]], expected: Callable[[Intent], bool]
) -> Interpretation:
    """What a sound most probably means, of all wordings that it can be heard as, with shares."""
    return best_interpretation(hypotheses(ways), expected)


class Session:
    """One job being worked on.

    `append` writes an event to the log and returns its entry once that is safe; `reply` shows and
    says; `now` gives aware times that never run back; `watch` sees every entry after it was logged.
    No reply is given before all events that it rests on are logged.
    """

    def __init__(
        self,
        state: JobState,
        append: Callable[[Event, datetime], Entry],
        reply: Callable[[Reply], None],
        now: Callable[[], datetime],
        watch: Callable[[Entry], None] = lambda entry: None,
    ) -> None:
        self.state = state
        self._append, self._reply, self._now, self._watch = append, reply, now, watch

    def begin(self, job: str, site: Mapping[str, str], depth: str | None = None) -> Outcome:
        """Start the job; `site` is what the procedure is told about the place."""
        now = self._now()
        return self._carry_out(assistant.begin(self.state, now, job, dict(site), depth), now)

    def resume(self, depth: str | None = None) -> Outcome:
        """Go on with a job whose log has been folded into the state."""
        now = self._now()
        return self._carry_out(assistant.resume(self.state, now, depth), now)

    def hear_line(
        self,
        words: str,
        source: str,
        confidence: float | None = None,
        clip: str | None = None,
        ways: Sequence[tuple[str, float]] = (),
    ) -> Intent:
        """Take in a line from "voice", "typed" or "recording"; returns what was understood.

        `ways`: all wordings that a sound can be heard as, with their shares of belief; the meaning
        that is likeliest at this point of the job is taken, with the confidence in that meaning.
        """
        if ways:
            best = likeliest(ways, partial(is_expected, self.state))
            intent, words, confidence = best.intent, best.words, best.confidence
        else:
            words = whole_characters(words)
            intent = understand(words, typed=source == "typed")
        now = self._now()
        range_too = source != "typed" and sounds_like_a_range(words)
        heard = Heard(intent, words, source, confidence, clip, range_too)
        self._carry_out(assistant.handle(self.state, heard, now), now)
        return intent

    def tick(self) -> Outcome:
        """Let timers run out and reminders be given; call about every second."""
        now = self._now()
        return self._carry_out(assistant.handle(self.state, Tick(), now), now)

    def _carry_out(self, outcome: Outcome, now: datetime) -> Outcome:
        """Log, then reply; when the log fails, the state holds what was logged, unanswered."""
        logged: list[Entry] = []
        try:
            for entry in outcome.entries:
                logged.append(self._append(entry.event, now))
        finally:
            whole = tuple(logged) == outcome.entries
            self.state = outcome.state if whole else fold(self.state, logged)
        for entry in logged:
            self._watch(entry)
        for reply in outcome.replies:
            self._reply(reply)
        return outcome
