"""What happened on the job: one small frozen class each, past tense, and their envelope.

An event never changes. A correction is a new event that points at the number of the old one.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import datetime
from typing import Any, ClassVar

import msgspec
from msgspec import Struct, field

from fieldvoice.jobstate import wire

SCHEMA_VERSION = 2  # of a line of the log; version 1 had mappings where there are rows now
WORK = "work"  # at a unit, in real time
PRACTICE = "practice"  # simulated time: no hold was held, no reading measured
REPLAY = "replay"  # recorded lines in simulated time
RECORDING = "recording"  # at a unit, in real time, heard afterwards from a sound recording
SIMULATED = (PRACTICE, REPLAY)
KINDS: dict[str, type[Event]] = {}


class Event(Struct, frozen=True):
    """Base of everything that happened; its fields are plain JSON values."""

    kind: ClassVar[str]

    @property
    def whole_job(self) -> bool:
        """Whether it holds for every unit of the job, not only for the one that it came from."""
        return isinstance(self, WHOLE_JOB)

    def __init_subclass__(cls) -> None:
        cls.kind = re.sub(r"(?<!^)(?=[A-Z])", "-", cls.__name__).lower()
        KINDS[cls.kind] = cls

    def to_dict(self) -> dict[str, Any]:
        """The fields as a line of the log has them (jobstate/wire.py), without the kind."""
        return wire.written(self)

    def without_line(self) -> Event:
        """The same event as no line's consequence: only the unit that heard it can take it back."""
        has_line = getattr(self, "line", None) is not None
        return msgspec.structs.replace(self, line=None) if has_line else self

    @staticmethod
    def from_dict(kind: str, data: dict[str, Any], version: int = SCHEMA_VERSION) -> Event:
        """Build the event; unknown fields are dropped, so that a newer log can still be read.

        `version`: that of the line which it stands in.

        Raises ValueError that names the unknown kind, or the field that is missing or of a wrong
        type.
        """
        if kind not in KINDS:
            raise ValueError(f"no event is called {kind!r}")
        if version < 2:
            return msgspec.convert(data, KINDS[kind])
        found: Event = wire.read(KINDS[kind], data)
        return found


class Entry(Struct, frozen=True):
    """One line of the job log: an event, its number in the job and when it happened."""

    seq: int  # 1, 2, 3, ... without gaps
    at: datetime  # aware
    event: Event
    unit: str | None = None  # the unit it belongs to; None: the first one

    def of(self, unit: str | None) -> Entry:
        """The same entry as one of that unit."""
        return self if unit == self.unit else msgspec.structs.replace(self, unit=unit)

    def with_event(self, event: Event) -> Entry:
        """Another event in its place."""
        return msgspec.structs.replace(self, event=event)


# --- the job -----------------------------------------------------------------------------------


class JobStarted(Event, frozen=True):
    """A job was opened."""

    job: str
    procedure: str  # its name
    procedure_sha256: str  # of the text kept in the job's folder
    fieldvoice: str  # version
    site: dict[str, str] = field(default_factory=dict)  # what the procedure was told at the start
    mode: str = WORK  # or PRACTICE, REPLAY, RECORDING; logs from before it was kept say nothing


class JobResumed(Event, frozen=True):
    """Work went on after an interruption."""

    fieldvoice: str


class ClipsKept(Event, frozen=True):
    """From here on the sound of lines is kept, or it is not; a job begins with keeping it."""

    kept: bool


class OwnVoiceUsed(Event, frozen=True):
    """From here on spoken lines are heard with what was learned of a technician's voice."""

    name: str = ""  # whose; "": with nothing learned, as a job begins
    sha256: str = ""  # of what was learned, as a file
    sureness: float = 0.0  # what the logarithm of the odds of each confidence is raised by


NO_OWN_VOICE = OwnVoiceUsed()


class JobFinished(Event, frozen=True):
    """The job was closed."""

    ending: str  # the ending that the procedure reached, or "stopped-early"


class JobReopened(Event, frozen=True):
    """A job that was closed was opened again, to add to it; what follows was logged after its end.
    """

    fieldvoice: str
    reason: str = ""


# --- time --------------------------------------------------------------------------------------


class ClockJumped(Event, frozen=True):
    """The computer's clock was set; the times of the log, and timers, go on as they did."""

    seconds: float  # forward; negative: back
    before: str  # ISO time that it would have shown
    after: str  # ISO time that it showed instead


class Restarted(Event, frozen=True):
    """The computer was started anew since the line before: its clock alone tells how long ago."""

    clock: str  # ISO time that it shows
    behind: bool = False  # earlier than the line before, so it is wrong: times go on from there
    ran: dict[str, float] = field(default_factory=dict)  # what runs -> seconds by that clock


class ClockJudged(Event, frozen=True):
    """Whether the clock was right after a restart: else nobody knows how long the timers ran."""

    right: bool
    line: int | None = None  # None: it was seen to be wrong


class TimeLetPass(Event, frozen=True):
    """In practice: so much time was let pass, up to here."""

    seconds: float


class Clip(Struct, frozen=True):
    """The sound of a line as it was kept: where, and what tells that it is still the same."""

    path: str  # inside the job's folder
    sha256: str | None = None  # of the file; None: not known
    bytes: int | None = None  # its length


# --- what was heard and said -------------------------------------------------------------------


CUT_SHORT = "cut-short"  # kind of the intent of a spoken line of which a part went unheard


class LineHeard(Event, frozen=True):
    """A spoken or typed line came in; what follows with `line` pointing here is its consequence."""

    words: str
    source: str  # "voice", "typed" or "recording"
    intent: dict[str, Any]  # Intent.to_dict()
    confidence: float | None = None  # that this was meant, 0..1; None for typed lines
    clip: str | None = None  # path of the sound inside the job's folder
    outcome: str = "accepted"  # "accepted", "asked-back", "refused", "ignored", "noted"
    clip_sha256: str | None = None  # of the file of the sound
    clip_bytes: int | None = None  # its length
    speech_db: float | None = None  # loudness of the speech, dB below the microphone's full scale
    noise_db: float | None = None  # of the background, its quiet tenth
    clipped: bool | None = None  # too loud for the microphone; None: not known

    def with_outcome(self, outcome: str) -> LineHeard:
        """The same line, once it is known what came of it."""
        return msgspec.structs.replace(self, outcome=outcome)


class Said(Event, frozen=True):
    """Fieldvoice said something."""

    text: str
    tone: str  # "prompt", "caution", "answer", "question", "alert"
    aloud: bool = True  # else on the screen alone


class Asked(Event, frozen=True):
    """A line waits for yes or no, or for its value again, before it counts."""

    line: int
    why: str  # "confidence", "reason", "gate", ...: dialogue/asking/kinds.py has them all
    intent: dict[str, Any]  # what counts when the answer is yes
    behind: bool = False  # another question was open: put once that is answered


class Answered(Event, frozen=True):
    """A question was closed: the open one, or one that waited behind it."""

    asked: int  # seq of Asked
    answer: str  # "yes", "no", "replaced", "dropped"


class NoteTaken(Event, frozen=True):
    """A note, as text, sound or both."""

    text: str = ""
    clips: list[str] = field(default_factory=list)
    line: int | None = None


class NoteOpened(Event, frozen=True):
    """What is said from here is a note."""

    line: int | None = None


class StoodBy(Event, frozen=True):
    """Everything but the way back is ignored."""


class BackAtWork(Event, frozen=True):
    """Lines count again."""


class VoiceChanged(Event, frozen=True):
    """How Fieldvoice speaks was changed."""

    change: str


# --- units -------------------------------------------------------------------------------------


class UnitOpened(Event, frozen=True):
    """Another unit of the job became the open one."""

    line: int | None = None


class UnitAsked(Event, frozen=True):
    """A line waits for the unit that it is for, or for a yes to begin one."""

    line: int
    why: str  # "which", "begin", "confidence"
    intent: dict[str, Any]  # what counts once that is known


class UnitAnswered(Event, frozen=True):
    """The open question about a unit was closed."""

    asked: int  # seq of UnitAsked
    answer: str  # "yes", "no", "replaced", or the unit


# --- steps -------------------------------------------------------------------------------------


class StepOpened(Event, frozen=True):
    """A step became the open one."""

    stage: str
    step: str
    visit: int = 1  # how many times this step has been opened


class CautionAcknowledged(Event, frozen=True):
    """The technician acknowledged the caution of a step."""

    step: str
    caution: str
    line: int | None = None


class StepDone(Event, frozen=True):
    """The open step was done, or one that was listed before it."""

    step: str
    line: int | None = None
    listed: bool = False  # one of a list: never open itself, done with the step after it


class StepSkipped(Event, frozen=True):
    """The open step was left undone."""

    step: str
    reason: str
    line: int | None = None


class StepCarried(Event, frozen=True):
    """A step counts as done without being opened: it was done elsewhere, or before this job."""

    step: str
    why: str  # what is said and printed of it: "done for unit one at 9:14"
    line: int | None = None
    cautions: list[str] = field(default_factory=list)  # acknowledged there, and holding here too


class BranchTaken(Event, frozen=True):
    """The way on was chosen, by a spoken choice, a verdict or a condition."""

    step: str
    option: str
    to: str  # the step that follows
    why: str = ""
    line: int | None = None


class FactTold(Event, frozen=True):
    """A fact of the place or of the equipment was told; it holds until it is told otherwise."""

    fact: str  # a name of quantity/facts.toml, a step with choices or a limit of the procedure
    value: str  # as JobStarted.site keeps it: "R-454B", "5280 ft"
    line: int | None = None  # None: given when work went on


class Jumped(Event, frozen=True):
    """Another step was gone to out of turn; what it leaves undone was skipped before."""

    stage: str
    step: str  # the one gone to
    origin: str  # the one that was open
    back: bool = False  # to work that comes before: it is to be done anew from there
    line: int | None = None
    lifts: list[str] = field(default_factory=list)  # carried-over steps, done here after all


class TestCarried(Event, frozen=True):
    """A test held before this job, or in another one, counts here; it was not measured here."""

    about: str  # "nitrogen" or "decay"
    verdict: str  # "passed" or "tight"
    at: str  # the day, ISO
    by: str  # who held it
    source: str = ""  # the job whose log has it; "": as told
    figures: dict[str, str] = field(default_factory=dict)  # as told or as that log has them
    line: int | None = None


class StepsListed(Event, frozen=True):
    """Steps that are not opened one by one, but done together before the step that follows them."""

    step: str  # the one opened next
    visit: int  # of that step
    steps: list[str]  # in the order in which they are done


class DepthChanged(Event, frozen=True):
    """How much is said of the work was changed."""

    depth: str  # "every-step", "readings-and-holds", "limits-only"
    prompted: list[str] = field(default_factory=list)  # kinds of steps that keep their own prompt
    line: int | None = None


# --- readings ----------------------------------------------------------------------------------


class ReadingTaken(Event, frozen=True):
    """A measured value counts."""

    quantity: str
    value: str  # decimal, as said
    unit: str  # as said, or the quantity's own; "lb-oz", "ft-in": both said, the second counted
    si: float
    si_unit: str  # "Pa", "K", "m", "kg", "A", "V", "s", "1", ...
    step: str
    line: int | None = None
    hold: str | None = None  # the hold it belongs to
    minute: float | None = None  # minutes since that hold began
    within: bool | None = None  # inside the step's limits; None: no limit
    over_plate: str | None = None  # the plate's design pressure that it lies above
    unfit: str | None = None  # why it is not held against a limit, nor judged


class ReadingCorrected(Event, frozen=True):
    """An earlier reading was wrong; this value replaces it."""

    corrects: int  # seq of ReadingTaken
    value: str
    unit: str
    si: float
    si_unit: str
    line: int | None = None
    within: bool | None = None
    over_plate: str | None = None
    unfit: str | None = None


class Withdrawn(Event, frozen=True):
    """An earlier event does not count any more; withdrawing a withdrawal puts back what it took."""

    withdraws: int
    line: int | None = None


# --- holds and timers --------------------------------------------------------------------------


class TimerStarted(Event, frozen=True):
    """A timer or hold runs."""

    label: str
    seconds: float
    due: str  # ISO time
    hold: bool = False  # belongs to the open step's hold
    line: int | None = None
    reason: str | None = None  # of a hold's own length, shorter than the procedure's


class TimerExtended(Event, frozen=True):
    """A timer or hold got more time."""

    label: str
    seconds: float
    due: str
    line: int | None = None


class TimerStopped(Event, frozen=True):
    """A timer or hold was stopped before its time."""

    label: str
    line: int | None = None
    reason: str | None = None  # of a timer that the procedure wants run to its end
    untimed: bool = False  # nobody knows how long it ran: the clock was wrong after a restart


class TimerFinished(Event, frozen=True):
    """A timer or hold ran out."""

    label: str


class Reminded(Event, frozen=True):
    """A timed reading or remaining time was called out, or what waits: an open note, say."""

    label: str
    mark: str  # which reminder, so that it is given once


# --- results -----------------------------------------------------------------------------------


class VerdictGiven(Event, frozen=True):
    """A computed result: what, from which readings, with which figures."""

    about: str  # "decay", "nitrogen", "forecast", "charge", "superheat", "subcooling", ...
    verdict: str  # "tight", "wet", "leaking", "not-yet-clear", "passed", "failed", or a value
    figures: dict[str, Any]  # the result's to_dict(): inputs, numbers with units, source
    step: str | None = None
    line: int | None = None

    def __post_init__(self) -> None:
        msgspec.structs.force_setattr(self, "figures", _as_json_gives_it(self.figures))


def _as_json_gives_it(value: Any) -> Any:
    """Lists for tuples, so that an event read back from the log equals the one written."""
    if isinstance(value, dict):
        return {name: _as_json_gives_it(part) for name, part in value.items()}
    return [_as_json_gives_it(part) for part in value] if isinstance(value, list | tuple) else value


# --- a log that was damaged --------------------------------------------------------------------


class LogMended(Event, frozen=True):
    """Work goes on with what is left of a damaged log; the damaged lines stay where they are.

    What stood before this line is told by its length and hash: what changes there later shows.
    """

    faults: list[str]  # what was wrong, in words
    lines: list[int]  # numbers, in the file, of lines that do not count
    before_bytes: int  # length of the log before this line
    before_sha256: str
    aside: list[str] = field(default_factory=list)  # files that took what did not fit any more
    loose: dict[str, str] = field(default_factory=dict)  # sounds that no line names -> SHA-256


# --- stages ------------------------------------------------------------------------------------


class StageEntered(Event, frozen=True):
    """A step of another stage was opened."""

    stage: str  # as the procedure has it
    called: str  # one of the names of grammar/stages.lark, the same in every job


class StageLeft(Event, frozen=True):
    """The stage that was entered last is worked on no more."""

    stage: str
    called: str
    outcome: str  # "done", "skipped", "jumped", "back", "carried-over", "stopped-early"


# --- kept with the job -------------------------------------------------------------------------


class Attached(Event, frozen=True):
    """A file was copied into the job's folder: a photo, a sheet."""

    file: str  # path inside the job's folder
    sha256: str
    bytes: int
    caption: str = ""
    by: str = ""  # who attached it
    line: int | None = None


class HeaderAmended(Event, frozen=True):
    """A name or number at the head of the record was put right, after it was told or at all."""

    fact: str  # a text of quantity/facts.toml
    value: str
    was: str  # "": it was not told
    by: str
    reason: str


# --- recordings --------------------------------------------------------------------------------


class RecordingHeard(Event, frozen=True):
    """From here on a sound recording made on site is heard; what follows has its times."""

    file: str  # its name
    sha256: str  # of the file
    seconds: float  # its length
    began: str  # ISO time
    known_by: str  # "given", "logged" before, "metadata", or "changed": the file's last change
    skipped: float = 0.0  # seconds at its start that the log had already


WHOLE_JOB = (JobResumed, ClipsKept, StoodBy, BackAtWork, VoiceChanged, DepthChanged, ClockJumped,
             Restarted, ClockJudged, TimeLetPass, LogMended, OwnVoiceUsed)


# --- review, after the work ---------------------------------------------------------------------


class LineReviewed(Event, frozen=True):
    """A reviewer says whether a line was heard and taken rightly; the newest word on it holds."""

    line: int  # seq of LineHeard
    right: bool
    reviewer: str
    reason: str = ""
    words: str = ""  # what was really said, where that is known


class ReadingAmended(Event, frozen=True):
    """A reviewer put another value in the place of a reading's; it counts from here on."""

    amends: int  # seq of ReadingTaken
    value: str
    unit: str
    si: float
    si_unit: str
    reviewer: str
    reason: str
    within: bool | None = None
    over_plate: str | None = None


class Remarked(Event, frozen=True):
    """A reviewer's remark."""

    text: str
    reviewer: str
    line: int | None = None  # seq of the LineHeard that it is about; None: the whole job


class NoteTranscribed(Event, frozen=True):
    """The words of a line of which the sound was kept, written down afterwards."""

    line: int  # seq of LineHeard
    text: str
    how: str  # "by-hand", "recognizer" or "recognizer-and-hand"
    reviewer: str


REVIEW = (LineReviewed, ReadingAmended, Remarked, NoteTranscribed)
BESIDE = (*REVIEW, HeaderAmended)  # added beside the work: that takes no time
BESIDE_UNLESS_SAID = (Attached,)  # so too, unless a line at work asked for it


def is_work(event: Event) -> bool:
    """Not added beside the work, as a review, a name put right or a file."""
    if isinstance(event, BESIDE_UNLESS_SAID):
        return event.line is not None
    return not isinstance(event, BESIDE)


def last_worked_on(entries: Sequence[Entry]) -> datetime | None:
    """The time of the newest entry that is work on the job."""
    return next((entry.at for entry in reversed(entries) if is_work(entry.event)), None)


def recorded_last(entries: Sequence[Entry]) -> bool:
    """Whether the work that was logged last was heard from a recording."""
    began = (v.event for v in reversed(entries)
             if isinstance(v.event, JobStarted | JobResumed | JobReopened | RecordingHeard))
    last = next(began, None)
    return isinstance(last, RecordingHeard) or (
        isinstance(last, JobStarted) and last.mode == RECORDING)
