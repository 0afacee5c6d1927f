"""The loop that joins ear, mind, log and mouth: hear -> understand -> handle -> log -> reply."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from functools import partial

from fieldvoice.dialogue.assistant import Heard, Reply, Tick
from fieldvoice.dialogue.belief.carries_number import has_number
from fieldvoice.dialogue.belief.clarity import CLEAR, Clarity
from fieldvoice.dialogue.belief.model import shipped
from fieldvoice.dialogue.confidence import (
    CLIPPED_AT_MOST,
    Hypothesis,
    Interpretation,
    best_interpretation,
)
from fieldvoice.dialogue.turn import Loudness
from fieldvoice.dialogue.units import begin_unit, handle, open_unit, which_unit
from fieldvoice.dialogue.units.begin_unit import FindProcedure
from fieldvoice.dialogue.units.mended import mend
from fieldvoice.dialogue.units.round import Outcome
from fieldvoice.errors import FieldvoiceError
from fieldvoice.jobstate.attachment import Newest, no_photos
from fieldvoice.jobstate.earlier_job import LookUp, no_other_job
from fieldvoice.jobstate.events import (
    CUT_SHORT,
    WORK,
    Clip,
    ClockJumped,
    Entry,
    LogMended,
    OwnVoiceUsed,
    RecordingHeard,
    Restarted,
)
from fieldvoice.jobstate.job import Job, fold_job
from fieldvoice.jobstate.state import JobState
from fieldvoice.language.intents import Intent, NotUnderstood
from fieldvoice.language.parser import sounds_like_a_range, understand, whole_characters
from fieldvoice.procedure.model import Procedure


def hypotheses(ways: Sequence[tuple[str, float]]) -> list[Hypothesis]:
    """The wordings that a sound can be heard as, with their shares, understood."""
    return [Hypothesis(understand(words, typed=False), words, share) for words, share in ways]


def likeliest(
    ways: Sequence[tuple[str, float]], expected: Callable[[Intent], bool],
    clarity: Clarity = CLEAR, sureness: float = 0.0,
) -> Interpretation:
    """What a sound most probably means, of all wordings that it can be heard as, with shares.

    `sureness`: what this speaker's confidence is raised by (belief.model.Model.surer).
    """
    return best_interpretation(hypotheses(ways), expected, clarity=clarity,
                               model=shipped().surer(sureness))


class NotLogged(FieldvoiceError):
    """A turn that the log did not take: it did not happen, and nobody was answered."""

    def __init__(self, why: FieldvoiceError, outcome: Outcome) -> None:
        super().__init__(str(why))
        self.why, self.outcome = why, outcome


class ProcedureNotKept(NotLogged):
    """A turn that begins a unit whose procedure could not be kept; the log itself is in order."""


class Session:
    """One job being worked on, of one unit (its state) or of several.

    `append` writes an event to the log, with its unit where that is not the first, and returns its
    entry once that is safe; `reply` shows and says; `now` gives aware times that never run back;
    `watch` sees every entry after it was logged; `find` gives a procedure for a new unit, and
    `keep` puts its text beside the log before the unit is begun.
    `look_up` gives what another job's log says of its tests; `append_all`, where it is given,
    writes all entries of a turn or none, and a turn that it refuses did not happen (NotLogged).
    No reply is given before all events that it rests on are logged.
    """

    def __init__(
        self,
        job: JobState | Job,
        append: Callable[..., Entry],
        reply: Callable[[Reply], None],
        now: Callable[[], datetime],
        watch: Callable[[Entry], None] = lambda entry: None,
        find: FindProcedure | None = None,
        keep: Callable[[Procedure], None] = lambda procedure: None,
        look_up: LookUp = no_other_job,
        append_all: Callable[[Sequence[Entry]], None] | None = None,
    ) -> None:
        self.photo: Newest = no_photos  # keeps the newest photo with the job
        self._look_up, self._append_all = look_up, append_all
        self.job = Job.of(job) if isinstance(job, JobState) else job
        self._append, self._reply, self._now, self._watch = append, reply, now, watch
        self._find, self._keep = find, keep

    @property
    def state(self) -> JobState:
        """The open unit's."""
        return self.job.state

    @property
    def expects_free_text(self) -> bool:
        """The next line may be any words: a reason that was asked for, or a note."""
        return self.job.states[which_unit.asker(self.job)].expects_free_text

    def waits_for(self, intent: Intent) -> bool:
        """Whether it is what the job waits for now; any thread may ask."""
        return handle.is_expected(self.job, intent)

    def begin(
        self, job: str, site: Mapping[str, str], depth: str | None = None, mode: str = WORK
    ) -> Outcome:
        """Start the job; `site` is what the procedure is told about the place."""
        now = self._now()
        return self._carry_out(handle.begin(self.job, now, job, dict(site), depth, mode), now)

    def keep_clips(self, kept: bool) -> None:
        """Keep the sound of lines from here on, or do not."""
        if kept != self.state.keeps_clips:
            now = self._now()
            self._carry_out(handle.keep_clips(self.job, now, kept), now)

    def hear_with(self, voice: OwnVoiceUsed) -> None:
        """Hear spoken lines with what was learned of a technician's voice from here on."""
        if voice != self.state.own_voice:
            now = self._now()
            self._carry_out(handle.use_voice(self.job, now, voice), now)

    def resume(
        self, told: Mapping[str, str] | None = None, depth: str | None = None,
        restarted: Restarted | None = None,
    ) -> Outcome:
        """Go on with a job whose log has been folded into the state; `told`: facts given now.

        `restarted`: the computer was started anew meanwhile.
        """
        now = self._now()
        return self._carry_out(handle.resume(self.job, now, told, depth, restarted), now)

    def clock_set(self, jumped: ClockJumped) -> Outcome:
        """The wall clock was set; the session's own times go on as they did."""
        now = self._now()
        return self._carry_out(handle.clock_set(self.job, now, jumped), now)

    def mend(self, mended: LogMended) -> Outcome:
        """Go on with a damaged log: logged before all else, and said."""
        now = self._now()
        return self._carry_out(mend(self.job, now, mended), now)

    def let_pass(self, seconds: float) -> Outcome:
        """In practice: log that so much time was let pass, up to now."""
        now = self._now()
        return self._carry_out(handle.let_pass(self.job, now, seconds), now)

    def take_recording(self, heard: RecordingHeard) -> Outcome:
        """A recording made on site is heard from now on, with its own times."""
        now = self._now()
        return self._carry_out(handle.take_recording(self.job, now, heard), now)

    def begin_sheet(self, procedure: Procedure, site: Mapping[str, str]) -> Outcome:
        """Another procedure for the open unit, in the same job; `site`: what is told with it."""
        now = self._now()
        return self._carry_out(begin_unit.begin_sheet(self.job, procedure, now, site), now)

    def turn_to(self, unit: str) -> Outcome:
        """Open a unit that no line named."""
        now = self._now()
        return self._carry_out(open_unit.turn_to(self.job, unit, now), now)

    def reopen(self, reason: str) -> Outcome:
        """Open a job that was closed, to add to it."""
        now = self._now()
        return self._carry_out(handle.reopen(self.job, now, reason), now)

    def hear_line(
        self,
        words: str,
        source: str,
        confidence: float | None = None,
        clip: Clip | None = None,
        ways: Sequence[tuple[str, float]] = (),
        *,
        clipped: bool = False,
        loudness: Loudness | None = None,
        clarity: Clarity = CLEAR,
        at: datetime | None = None,
    ) -> Intent:
        """Take in a line from "voice", "typed" or "recording"; returns what was understood.

        `ways`: all wordings that a sound can be heard as, with their shares of belief; the meaning
        that is likeliest at this point of the job is taken, with the confidence in that meaning.
        `clipped`: the sound was too loud for the microphone, so that a number is asked back.
        `loudness`: of the sound, kept with the line; `clarity`: what it tells of how far the
        words can be trusted. `at`: when it was said, where that was not just now; what was logged
        since then stays before it.
        """
        if ways:
            best = likeliest(ways, partial(handle.is_expected, self.job), clarity,
                             self.state.own_voice.sureness)
            intent, words, confidence = best.intent, best.words, best.confidence
        else:
            words = whole_characters(words)
            intent = understand(words, typed=source == "typed")
        if clipped and confidence is not None and has_number(intent):
            confidence = min(confidence, CLIPPED_AT_MOST)
        now = self._now() if at is None else self._not_before_the_log(at)
        range_too = source != "typed" and sounds_like_a_range(words)
        heard = Heard(intent, words, source, confidence, clip, loudness, range_too, self.photo)
        self._carry_out(handle.handle(self.job, heard, now, self._find, self._look_up), now)
        return intent

    def _not_before_the_log(self, at: datetime) -> datetime:
        logged = (state.last_at for state in self.job.states.values())
        return max([at, *(last for last in logged if last is not None)])

    def hear_cut(self, words: str, why: str, clip: Clip | None = None) -> None:
        """A spoken line of which a part went unheard: logged with its sound, and asked back."""
        now = self._now()
        heard = Heard(NotUnderstood(why, CUT_SHORT), words, "voice", None, clip)
        self._carry_out(handle.handle(self.job, heard, now), now)

    def tick(self) -> Outcome:
        """Let timers run out and reminders be given; call about every second."""
        now = self._now()
        return self._carry_out(handle.handle(self.job, Tick(), now), now)

    def _carry_out(self, outcome: Outcome, now: datetime) -> Outcome:
        """Log, then reply; when the log fails, the state holds what was logged, unanswered."""
        if self._append_all is None:
            self._log_one_by_one(outcome, now)
        else:
            refused: type[NotLogged] = ProcedureNotKept
            try:
                for procedure in outcome.keep:
                    self._keep(procedure)
                refused = NotLogged
                self._append_all(outcome.entries)
            except FieldvoiceError as error:
                raise refused(error, outcome) from error
            self.job = outcome.job
        for entry in outcome.entries:
            self._watch(entry)
        for reply in outcome.replies:
            self._reply(reply)
        return outcome

    def _log_one_by_one(self, outcome: Outcome, now: datetime) -> None:
        logged: list[Entry] = []
        for procedure in outcome.keep:
            self._keep(procedure)
        try:
            for entry in outcome.entries:
                unit = () if entry.unit is None else (entry.unit,)
                logged.append(self._append(entry.event, now, *unit))
        finally:
            whole = tuple(logged) == outcome.entries
            self.job = outcome.job if whole else _after_part(self.job, outcome, logged)


def _after_part(job: Job, outcome: Outcome, logged: Sequence[Entry]) -> Job:
    """The job after those of a turn's entries that were logged before the log failed."""
    for procedure in outcome.keep:
        job = replace(job, procedures={**job.procedures, procedure.sha256: procedure})
    return fold_job(job, logged)
