"""One turn of the conversation: what came in, and the events and replies that answer it."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from datetime import datetime

from fieldvoice.dialogue.confidence import Decision
from fieldvoice.dialogue.depth import kinds
from fieldvoice.dialogue.order.crossing import crossing, stage_now, stage_of
from fieldvoice.jobstate import events as e
from fieldvoice.jobstate.attachment import Newest, no_photos
from fieldvoice.jobstate.depths import LIMITS_ONLY
from fieldvoice.jobstate.earlier_job import LookUp, no_other_job
from fieldvoice.jobstate.events import Entry, Event
from fieldvoice.jobstate.state import JobState, fold
from fieldvoice.language.intents import Intent


@dataclass(frozen=True)
class Loudness:
    """How loud a spoken line was, in dB relative to the microphone's full scale."""

    speech_db: float
    noise_db: float  # of the background
    clipped: bool  # too loud for the microphone


@dataclass(frozen=True)
class Heard:
    """A line that came in, understood or not."""

    intent: Intent
    words: str
    source: str  # "voice", "typed" or "recording"
    confidence: float | None = None  # lowest word confidence, 0..1; None: typed
    clip: e.Clip | None = None  # the sound, where it is kept
    loudness: Loudness | None = None  # of a spoken line, where it was measured
    range_too: bool = False  # sounds like a range as well: "five two eight", "five to eight"
    photo: Newest = no_photos  # keeps the newest photo with the job


@dataclass(frozen=True)
class Tick:
    """Time has passed; give one about every second."""


@dataclass(frozen=True)
class Reply:
    """Something to say. `spoken` differs from the screen's text where the screen shows more."""

    text: str
    tone: str  # "answer", "caution", "alert", "prompt" or "question"
    spoken: str | None = None
    aloud: bool = True  # else on the screen alone

    @property
    def told(self) -> str:
        """What is told of it: the words for the ear, where there are other ones."""
        return self.spoken or self.text


@dataclass(frozen=True)
class Outcome:
    """What a turn did: entries to log in this order, then replies to give in this order."""

    entries: tuple[Entry, ...]
    replies: tuple[Reply, ...]
    state: JobState  # after all entries

    @property
    def events(self) -> tuple[Event, ...]:
        """What happened, without numbers and times."""
        return tuple(entry.event for entry in self.entries)


class Turn:
    """Collects the events and replies of one turn; `state` is always the fold so far."""

    def __init__(
        self, state: JobState, now: datetime, look_up: LookUp = no_other_job
    ) -> None:
        self.state, self.now = state, now
        self.look_up = look_up  # what another job's log says
        self.line: int | None = None  # seq of the line that is being answered
        self.heard: Heard | None = None
        self.decision = Decision.ACCEPT  # what its confidence allows
        self._entries: list[Entry] = []
        self._replies: list[Reply] = []
        self._outcome = "accepted"
        self.asked = False  # the line asks to be told something: that is said at every depth

    def hear(self, heard: Heard) -> None:
        """Log the line; call first."""
        self.heard = heard
        self.line = self.emit(e.LineHeard(
            heard.words, heard.source, heard.intent.to_dict(), heard.confidence,
            *_sound(heard.clip), **(asdict(heard.loudness) if heard.loudness else {})))

    def emit(self, event: Event) -> int:
        """Log an event; returns its sequence number. Where it leads into a stage that goes first.
        """
        self._cross(stage_of(self.state, event), event)
        return self._log(event)

    def _cross(self, to: str | None, now: Event | None = None) -> None:
        for crossed in crossing(self.state, self.happened, to, now):
            self._log(crossed)

    def _log(self, event: Event) -> int:
        entry = Entry(self.state.next_seq, self.now, event)
        self._entries.append(entry)
        self.state = fold(self.state, [entry])
        return entry.seq

    def say(
        self, tone: str, text: str, spoken: str | None = None, *, aloud: bool | None = None
    ) -> None:
        """Add a reply. A prompt that nobody asked for is only shown where limits alone are said."""
        heard = not (tone == "prompt" and self._hushed()) if aloud is None else aloud
        self._replies.append(Reply(text, tone, spoken, heard))

    def _hushed(self) -> bool:
        step = self.state.open_step
        kept = step is not None and kinds.kind(step) in self.state.prompted
        return self.state.depth == LIMITS_ONLY and not self.asked and not kept

    def drop_prompts(self, kept: str = "") -> None:
        """Forget the prompts of this turn: what they asked for was in the line itself."""
        self._replies = [r for r in self._replies if r.tone != "prompt" or r.text == kept]

    def alarm(self, text: str) -> None:
        """Say something before all else of the turn, as loudly as a timer that ran out."""
        self._replies.insert(0, Reply(text, "alert"))

    def answer(self, text: str) -> None:
        """Add a plain answer."""
        self.say("answer", text)

    def refuse(self, text: str, spoken: str | None = None) -> None:
        """Answer that what was asked for is not done, and why."""
        self._outcome = "refused"
        self.say("answer", text, spoken)

    def ask(self, text: str, spoken: str | None = None) -> None:
        """Ask back instead of doing it."""
        self._outcome = "asked-back"
        self.say("question", text, spoken)

    def ignore(self) -> None:
        """Log the line only."""
        self._outcome = "ignored"

    def asked_again(self) -> None:
        """The open question is all the answer that the line gets."""
        self._outcome = "asked-back"

    def noted(self) -> None:
        """The line is part of an open note."""
        self._outcome = "noted"

    def has_said(self, text: str) -> bool:
        """Whether that is among the replies."""
        return any(reply.text == text for reply in self._replies)

    @property
    def ignored(self) -> bool:
        """Whether the line was only logged."""
        return self._outcome == "ignored"

    @property
    def alerted(self) -> bool:
        """Whether a timer has spoken up in this turn."""
        return any(reply.tone == "alert" for reply in self._replies)

    @property
    def entries(self) -> tuple[Entry, ...]:
        """The events of this turn so far, with their numbers."""
        return tuple(self._entries)

    @property
    def happened(self) -> tuple[Event, ...]:
        """The events of this turn so far."""
        return tuple(entry.event for entry in self._entries)

    def finish(self) -> Outcome:
        """Put questions last, log the replies as said, and hand everything over."""
        self._cross(stage_now(self.state))  # also where a step counts again that was taken back
        replies = sorted(_one_alert(self._replies), key=lambda r: r.tone == "question")
        for reply in replies:
            self.emit(e.Said(reply.told, reply.tone, reply.aloud))
        entries = [self._with_outcome(entry) for entry in self._entries]
        state = self.state
        if self.line is not None:
            state = state.with_outcome(self.line, self._outcome)
        return Outcome(tuple(entries), tuple(replies), state)

    def _with_outcome(self, entry: Entry) -> Entry:
        """What became of a line is known only at the end of its turn."""
        if not isinstance(entry.event, e.LineHeard):
            return entry
        return Entry(entry.seq, entry.at, entry.event.with_outcome(self._outcome))


def _sound(clip: e.Clip | None) -> tuple[str | None, str, str | None, int | None]:
    """What a heard line says of its sound, around an outcome that is known only later."""
    kept = clip or e.Clip("")
    return None if clip is None else clip.path, "accepted", kept.sha256, kept.bytes


def _one_alert(replies: list[Reply]) -> list[Reply]:
    """Alerts of one burst become one where the first stands: timers do not break into cautions."""
    alerts = [r for r in replies if r.tone == "alert"]
    if len(alerts) < 2:
        return replies
    text = " ".join(r.text for r in alerts)
    spoken = " ".join(r.told for r in alerts)
    joined = Reply(text, "alert", spoken)
    others = [r for r in replies if r is alerts[0] or r.tone != "alert"]
    return [joined if r is alerts[0] else r for r in others]
