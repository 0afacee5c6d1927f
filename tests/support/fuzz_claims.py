"""What must hold for any line and any conversation, and the seeds that fuzzing starts from.

A conversation as bytes: the first byte picks the procedure, a second one on that line the step to
begin at (none, or 0: the first step); every further line opens with a byte
that says how it comes in, and the rest is its text. The two lowest bits of that byte: 0 and 1
typed, 2 heard (the other bits are the confidence), 3 typed after a time (the other bits times 12
seconds); 255 starts the process anew first.
"""

from __future__ import annotations

import json
import random
import re
from collections.abc import Callable, Iterator
from decimal import Decimal
from functools import cache
from typing import Any

from fieldvoice.dialogue.assistant import Heard, decide
from fieldvoice.dialogue.confidence import Decision
from fieldvoice.dialogue.registry import ONLY_READ
from fieldvoice.errors import FieldvoiceError
from fieldvoice.jobstate import events as e
from fieldvoice.jobstate.job import Job, unit_of
from fieldvoice.jobstate.state import JobState
from fieldvoice.jobstate.unit_names import find
from fieldvoice.language import intents as i
from fieldvoice.language.decoding_graph import random_sentence
from fieldvoice.language.parser import sounds_like_a_range, understand, whole_characters
from fieldvoice.language.refusals import REFUSALS
from fieldvoice.procedure.check import load
from fieldvoice.procedure.model import Procedure
from fieldvoice.procedure.reader import shipped, shipped_names
from support.job_bench import JobBench
from support.phrase_tables import FOLDER, rows
from support.shipped_acceptor import shipped_acceptor
from support.transcripts import TRANSCRIPTS

SITE = {"refrigerant": "R-410A", "liquid-line": "3/8", "covered-length": "15 ft"}
MOST_LINES = 60  # of one conversation
TYPED, HEARD, LATER, ANEW = 0, 2, 3, 255
STEP_WAIT_S = 12.0
CHANGES = (
    e.ReadingTaken, e.ReadingCorrected, e.Withdrawn, e.StepDone, e.StepSkipped, e.BranchTaken,
    e.TimerStarted, e.TimerExtended, e.TimerStopped, e.NoteTaken, e.JobFinished,
    e.CautionAcknowledged, e.FactTold, e.Jumped, e.StepCarried, e.TestCarried,
)  # fmt: skip
LONGEST_REFUSAL = 200  # characters
Mark = Callable[[str], None]


# --- a line ------------------------------------------------------------------------------------


def understand_line(data: bytes, _mark: Mark = lambda name: None) -> None:
    """Any bytes as one line: an intent comes back, and it is sound."""
    line = data.decode("utf-8", "surrogateescape")
    typed, spoken = understand(line), understand(line, typed=False)
    for intent in (typed, spoken):
        _sound(intent)
    if _PLAIN.fullmatch(line) and not isinstance(spoken, i.NotUnderstood):
        in_own_words = isinstance(typed, i.Skip) and isinstance(spoken, i.Skip)
        same = typed == spoken or in_own_words or _is_doubt(typed)
        assert same, f"keys {typed}, voice {spoken}"
    if shipped_acceptor().cost(line.split()) is not None:
        assert not isinstance(spoken, i.NotUnderstood) or spoken.kind in _ASKED, spoken


_PLAIN = re.compile(r"[a-zA-Z' ]*")
_ASKED = {kind for kind, _ in REFUSALS.values()}  # what is heard in order to be asked back


def _is_doubt(intent: i.Intent) -> bool:
    return isinstance(intent, i.NotUnderstood) and intent.kind == "two-ways"


def _sound(intent: i.Intent) -> None:
    """It is one intent with finite values, and comes back from JSON."""
    assert isinstance(intent, i.Intent)
    plain = json.loads(json.dumps(intent.to_dict(), allow_nan=False))
    assert i.Intent.from_dict(plain) == intent
    assert all(abs(value) < 10**8 for value in values(intent))
    if isinstance(intent, i.NotUnderstood):
        assert 0 < len(intent.reason) <= LONGEST_REFUSAL
        assert intent.reason.isprintable()


_SEVERAL = (i.Readings, i.NextReadings, i.StartHoldAt)


def values(intent: i.Intent) -> set[Decimal]:
    """The measured values in an intent."""
    if isinstance(intent, _SEVERAL):
        return {one.value for one in intent.readings}
    value = getattr(intent, "value", None)
    if isinstance(intent, i.TellFact):  # a plate charge is a reading, too
        return {Decimal(n) for n in re.findall(r"-?\d+(?:\.\d+)?|-?\.\d+", value or "")}
    return {value} if isinstance(value, Decimal) else set()


# --- a conversation ----------------------------------------------------------------------------


@cache
def _procedures() -> tuple[Procedure, ...]:
    return tuple(load(shipped(name)) for name in sorted(shipped_names()))


def step_marks() -> list[str]:
    """The names that `work_a_job` marks as reached."""
    return [f"{p.name}/{step.name}" for p in _procedures() for step in p.steps]


def work_a_job(data: bytes, mark: Mark = lambda name: None) -> None:
    """Any bytes as a conversation: every turn keeps its claims, and so does the whole log."""
    first, *lines = data.split(b"\n")[: MOST_LINES + 1]
    procedures = _procedures()
    procedure, at = first.ljust(2, b"\0")[:2]
    chosen = procedures[procedure % len(procedures)]
    bench = JobBench(chosen, SITE, _named)
    if at:
        step = chosen.steps[at * len(chosen.steps) // 256]
        bench.happen(e.StepOpened(step.stage, step.name))
    for line in lines:
        _turn(bench, line)
        mark(f"{bench.job.state.procedure.name}/{bench.job.state.step}")
    assert bench.refolded() == bench.job


def _named(name: str) -> Procedure:
    """The procedure of another unit."""
    for procedure in _procedures():
        if procedure.name == name:
            return procedure
    raise FieldvoiceError(f"no procedure {name!r}")


def _turn(bench: JobBench, line: bytes) -> None:
    how = line[0] if line else TYPED
    if how == ANEW:
        bench.resume()
    elif how % 4 == LATER:
        bench.tick((how >> 2) * STEP_WAIT_S)
    confidence = (how >> 2) / 63 if how % 4 == HEARD else None
    words = whole_characters(line[1:].decode("utf-8", "surrogateescape"))
    intent = understand(words, typed=confidence is None)
    source = "typed" if confidence is None else "voice"
    before, seq = bench.job, bench.job.course.next_seq
    range_too = source == "voice" and sounds_like_a_range(words)
    outcome = bench.hear(Heard(intent, words, source, confidence, range_too=range_too))
    caused = [v for v in outcome.entries
              if getattr(v.event, "line", seq) == seq and isinstance(v.event, CHANGES)]
    heard, unit = outcome.events[0], unit_of(outcome.entries[0])
    assert isinstance(heard, e.LineHeard)
    assert {unit_of(v) for v in caused} <= {unit}, "a line changed another unit than its own"
    _only_the_unit_that_was_named(before, intent, unit)
    meant = i.Intent.from_dict(dict(heard.intent))
    _only_what_was_meant(before.states[unit], meant, confidence, words, [v.event for v in caused])
    quiet = before.state.standing_by or before.state.open_note is not None \
        or heard.outcome == "ignored"
    assert outcome.replies or quiet, f"no answer to {words!r}"
    if isinstance(intent, i.NotUnderstood):
        assert all(len(r.text) <= LONGEST_REFUSAL for r in outcome.replies[:1])


def _only_the_unit_that_was_named(before: Job, intent: i.Intent, unit: str) -> None:
    """A line is logged in the open unit, in one that it or a question names, or in an asker."""
    asked = before.course.question
    if isinstance(intent, i.Yes) and asked is not None:
        intent = i.Intent.from_dict(dict(asked.intent))
    named = find(before, intent.unit) if isinstance(intent, i.OpenUnit | i.ForUnit) else None
    assert unit in (before.open, named, before.course.last_line), f"{unit} for {intent}"


def _only_what_was_meant(
    before: JobState, intent: i.Intent, confidence: float | None, words: str, changes: list[Any]
) -> None:
    """Nothing was logged for a line that did not ask for it."""
    kinds = [v.kind for v in changes]
    reason = before.question is not None and before.question.why in ("reason", "name")
    if before.open_note is not None:
        assert kinds in ([], ["note-taken"]), f"{kinds} in an open note"
        return
    if before.standing_by or (
        decide(intent, confidence, words) is Decision.IGNORE and not (reason and words)
    ):
        assert not changes, f"{kinds} for a line that is ignored"
        return
    if isinstance(intent, ONLY_READ) or (isinstance(intent, i.NotUnderstood) and not reason):
        assert not changes, f"{kinds} for {intent}"
    meant = values(intent)
    if before.question is not None and isinstance(intent, i.Yes):
        meant |= values(i.Intent.from_dict(dict(before.question.intent)))
    logged = [Decimal(v.value) for v in changes if isinstance(v, _READ)]
    told = [v.fact for v in changes if isinstance(v, e.FactTold)]
    assert told[:1] in ([], [_fact_meant(before, intent)]), f"told {told} by {intent}"
    assert meant.issuperset(logged), f"logged {logged}, said {meant}"
    most = len(intent.readings) if isinstance(intent, _SEVERAL) else 1
    assert len(logged) <= most, f"{logged} for {intent}"


_READ = (e.ReadingTaken, e.ReadingCorrected)


def _fact_meant(before: JobState, intent: i.Intent) -> str | None:
    """The fact that a line may tell: its own, or the one that was asked about."""
    asked = before.question.intent if before.question is not None else {}
    if isinstance(intent, i.TellFact):
        return intent.fact
    return str(asked["fact"]) if asked.get("intent") == "tell-fact" else None


# --- seeds -------------------------------------------------------------------------------------


def line_seeds() -> list[bytes]:
    """Every phrase of the tables."""
    names = sorted(path.stem for path in FOLDER.glob("*.tsv"))
    return [row["phrase"].encode() for name in names for row in rows(name)]


def sentence_seeds(rng: random.Random, count: int) -> Iterator[bytes]:
    """Sentences of the grammar, every way on as likely as any other."""
    for _ in range(count):
        yield " ".join(random_sentence(rng, sharpness=0.0)).encode()


def job_seeds() -> Iterator[bytes]:
    """The kept transcripts, whole and cut, and the phrases of the tables by tens."""
    names = sorted(shipped_names())
    for path in TRANSCRIPTS:
        first, *lines = path.read_text("utf-8").splitlines()
        opening = bytes([names.index(first.split()[1])])
        said = list(_as_turns(lines))
        for length in range(10, len(said) + 10, 10):
            yield b"\n".join([opening, *said[:length]])
    phrases = line_seeds()
    for start in range(0, len(phrases), 10):
        turns = [b"h" + phrase for phrase in phrases[start : start + 10]]
        opening = bytes([start // 10 % len(names), start // 3 % 256])
        yield b"\n".join([opening, b"hunderstood", b"hnext", *turns])
    units = [b"h" + row["phrase"].encode() for row in rows("units")]
    for procedure in range(len(names)):
        begun = [b"hunderstood", b"hnew unit two", b"hunderstood", b"hunit one", b"hindoor two"]
        for start in range(0, len(units), 5):
            going = [line for unit in units[start : start + 5] for line in (unit, b"hyes", b"h412")]
            yield b"\n".join([bytes([procedure, 5 * start % 256]), *begun, *going])
    for procedure in range(len(names)):
        for at in range(1, 256, 3):
            yield b"\n".join([bytes([procedure, at]), b"hunderstood", b"hnext", b"hhelp", b"hyes"])


def turn_pieces() -> list[bytes]:
    """Single turns to put into a conversation: typed, well heard, badly heard, and later."""
    going_on = [b"understood", b"next", b"yes", b"no", b"start the hold", b"take that back",
                b"new unit two", b"unit one", b"unit two", b"unit two vacuum four hundred"]
    hows = [b"h", b"\xfe", b"\x92", b"\xc3"]
    return [how + said for said in [*line_seeds(), *going_on * 40] for how in hows]


def _as_turns(lines: list[str]) -> Iterator[bytes]:
    wait = 0.0
    for line in lines:
        if line.startswith("~ "):
            wait += 60 * float(line.split()[1])
        elif line.startswith("> "):
            while wait > 63 * STEP_WAIT_S:  # a tick by asking
                yield bytes([63 << 2 | LATER]).replace(b"\xff", b"\xfb") + b"how long left"
                wait -= 62 * STEP_WAIT_S
            how = round(wait / STEP_WAIT_S) << 2 | LATER if wait else ord("h")
            yield bytes([min(how, 0xFB)]) + line[2:].encode()
            wait = 0.0
