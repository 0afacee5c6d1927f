"""What a technician can ask for: one frozen class each. Imports nothing of ours."""

from __future__ import annotations

import re
from dataclasses import dataclass, fields
from datetime import timedelta
from decimal import Decimal

FORMER_NAMES = {"scratch-that": "take-back"}  # what older logs call an intent


class Intent:
    """One thing that a spoken or typed line asks for."""

    @classmethod
    def name(cls) -> str:
        """The kebab-case name used in logs and JSON: NotUnderstood -> not-understood."""
        return re.sub(r"(?<!^)(?=[A-Z])", "-", cls.__name__).lower()

    @classmethod
    def rule(cls) -> str:
        """The rule of grammar/commands.lark that gives it: WhereAreWe -> where_are_we."""
        return cls.name().replace("-", "_")

    @classmethod
    def carries(cls) -> tuple[str, ...]:
        """The names of its fields."""
        return tuple(f.name for f in fields(cls))  # type: ignore[arg-type]  # all are dataclasses

    def to_dict(self) -> dict[str, object]:
        """Plain JSON values: decimals as strings, durations as seconds, and the intent's name."""
        values = {name: _plain(getattr(self, name)) for name in self.carries()}
        return {"intent": self.name(), **values}

    @staticmethod
    def from_dict(data: dict[str, object]) -> Intent:
        """The intent that to_dict() gave; KeyError for an unknown name, TypeError for a lack."""
        name = str(data["intent"])
        cls = {c.name(): c for c in Intent.__subclasses__()}[FORMER_NAMES.get(name, name)]
        hints = {f.name: str(f.type) for f in fields(cls)}  # type: ignore[arg-type]
        given = {k: v for k, v in data.items() if k in hints}
        return cls(**{k: _typed(v, hints[k]) for k, v in given.items()})


def _plain(value: object) -> object:
    if isinstance(value, Decimal):
        return format(value, "f")
    if isinstance(value, timedelta):
        return value.total_seconds()
    if isinstance(value, Intent):
        return value.to_dict()
    if isinstance(value, tuple):
        return [_plain(v) for v in value]
    return value


def _typed(value: object, hint: str) -> object:
    if value is None:
        return None
    if hint.startswith("Decimal"):
        return Decimal(str(value))
    if hint.startswith("timedelta"):
        return timedelta(seconds=float(str(value)))
    if hint == "Intent" and isinstance(value, dict):
        return Intent.from_dict(value)
    if hint.startswith("tuple") and isinstance(value, list):
        return tuple(Intent.from_dict(v) if isinstance(v, dict) else v for v in value)
    return value


@dataclass(frozen=True)
class Reading(Intent):
    """A measured value."""

    value: Decimal  # exactly as said
    unit: str | None = None  # a name of quantity/units.py ("microns", "psig"); None: not said
    quantity: str | None = None  # "vacuum", "suction-pressure", ...; None: not said


@dataclass(frozen=True)
class Readings(Intent):
    """Several readings in one breath, in the order said."""

    readings: tuple[Reading, ...]


@dataclass(frozen=True)
class Correction(Intent):
    """The last reading was wrong: this value instead."""

    value: Decimal
    unit: str | None = None


@dataclass(frozen=True)
class ChangeReading(Intent):
    """An earlier reading of a named quantity was wrong: this value instead."""

    quantity: str
    value: Decimal
    unit: str | None = None


@dataclass(frozen=True)
class TakeBack(Intent):
    """Take back the last thing that was logged (a reading, a step, a timer)."""


@dataclass(frozen=True)
class PutBack(Intent):
    """What was taken back last counts again."""


@dataclass(frozen=True)
class Yes(Intent):
    """Agree to what was asked."""


@dataclass(frozen=True)
class No(Intent):
    """Deny what was asked."""


@dataclass(frozen=True)
class NeverMind(Intent):
    """Withdraw what was asked; nothing that was logged changes."""


@dataclass(frozen=True)
class Understood(Intent):
    """Acknowledge a caution."""


@dataclass(frozen=True)
class Next(Intent):
    """The open step is done."""


@dataclass(frozen=True)
class Okay(Intent):
    """Go on, where nothing is asked and the step keeps nobody safe."""


@dataclass(frozen=True)
class Back(Intent):
    """Open the step before again."""


@dataclass(frozen=True)
class Repeat(Intent):
    """Say the last prompt again."""


@dataclass(frozen=True)
class WhatNow(Intent):
    """Say what the open step waits for."""


@dataclass(frozen=True)
class WhereAreWe(Intent):
    """Say stage, step, timers and last readings."""


@dataclass(frozen=True)
class Why(Intent):
    """Explain the open step."""


@dataclass(frozen=True)
class Skip(Intent):
    """Leave the open step undone; a reason is asked for when none is said."""

    reason: str | None = None


@dataclass(frozen=True)
class NotApplicable(Intent):
    """The open step does not apply to this system."""


@dataclass(frozen=True)
class Choose(Intent):
    """Pick one of the ways on that the open step offers."""

    option: str  # kebab-case, as in the procedure: "single-pull", "front-seated"


@dataclass(frozen=True)
class StartHold(Intent):
    """Start the hold of the open step."""

    duration: timedelta | None = None  # None: as the procedure says
    reason: str | None = None  # of a length of one's own, shorter than the procedure's


@dataclass(frozen=True)
class StartTimer(Intent):
    """Start a timer of one's own."""

    duration: timedelta
    label: str | None = None  # what it is for: "nitrogen", "pump"; None: unnamed


@dataclass(frozen=True)
class StopTimer(Intent):
    """Stop a timer or the hold."""

    label: str | None = None  # "hold", a label; None: the only one, or the newest
    reason: str | None = None  # of a timer that the procedure wants run to its end


@dataclass(frozen=True)
class AddTime(Intent):
    """Lengthen a timer or the hold."""

    duration: timedelta
    label: str | None = None


@dataclass(frozen=True)
class HowLongLeft(Intent):
    """Say what is left on a timer or on all."""

    label: str | None = None


@dataclass(frozen=True)
class StartNote(Intent):
    """From here on the sound is a note, until it is ended."""


@dataclass(frozen=True)
class EndNote(Intent):
    """The note ends."""


@dataclass(frozen=True)
class Note(Intent):
    """A typed note."""

    text: str


@dataclass(frozen=True)
class Photo(Intent):
    """Keep the newest photo with the job."""

    about: str | None = None  # what it shows: "gauge"; None: the open step


@dataclass(frozen=True)
class AskLast(Intent):
    """Say the last reading."""

    quantity: str | None = None  # None: of anything


@dataclass(frozen=True)
class AskElapsed(Intent):
    """Say how long the hold or the timers have run."""


@dataclass(frozen=True)
class AskVerdict(Intent):
    """Say the verdict of the hold as it stands now."""


@dataclass(frozen=True)
class AskForecast(Intent):
    """Say how long until the vacuum reaches a value."""

    value: Decimal | None = None  # None: the target of the open step
    unit: str | None = None


@dataclass(frozen=True)
class AskTargetSuperheat(Intent):
    """Say the target superheat for a fixed orifice at the conditions read."""


@dataclass(frozen=True)
class AskSuperheat(Intent):
    """Say the superheat from the last suction pressure and line temperature."""


@dataclass(frozen=True)
class AskSubcooling(Intent):
    """Say the subcooling from the last liquid pressure and line temperature."""


@dataclass(frozen=True)
class AskCharge(Intent):
    """Say the charge correction for this line set."""


@dataclass(frozen=True)
class AskBoilingPoint(Intent):
    """Say at what temperature water boils at the last vacuum."""


@dataclass(frozen=True)
class TellFact(Intent):
    """Tell a fact of the place or the equipment; told again it replaces."""

    fact: str  # a name of quantity/facts.toml
    value: str | None = None  # as it is said: "R-454B", "5280 ft"; None: a name is to follow


@dataclass(frozen=True)
class AskFact(Intent):
    """Say a fact that the job was told."""

    fact: str | None = None  # None: all of them


@dataclass(frozen=True)
class AskChargeTotal(Intent):
    """Say the charge added in all."""


@dataclass(frozen=True)
class AskLowestVacuum(Intent):
    """Say the lowest vacuum read."""


@dataclass(frozen=True)
class AskReadings(Intent):
    """Say how many readings there are, and list them on the screen."""

    quantity: str | None = None  # None: of what the step is about


@dataclass(frozen=True)
class AskOpenSteps(Intent):
    """Say what is left of this stage, and what was left undone."""


@dataclass(frozen=True)
class AskSkipped(Intent):
    """Say which steps were skipped or jumped over and not done since, and why."""


@dataclass(frozen=True)
class AskSaturation(Intent):
    """Say the saturation temperature at the last pressure or at one that is named."""

    quantity: str | None = None  # "suction-pressure", "liquid-pressure", ...; None: not said
    value: Decimal | None = None
    unit: str | None = None


@dataclass(frozen=True)
class AskSplit(Intent):
    """Say the temperature split of the air, and whether it is usual."""


@dataclass(frozen=True)
class Help(Intent):
    """Say what can be said now, with examples."""


@dataclass(frozen=True)
class StandBy(Intent):
    """Ignore everything but the way back to work."""


@dataclass(frozen=True)
class BackToWork(Intent):
    """Listen again."""


@dataclass(frozen=True)
class ChangeVoice(Intent):
    """Change how Fieldvoice speaks."""

    change: str  # "louder", "softer", "slower", "faster", "quiet" (screen only), "aloud"


@dataclass(frozen=True)
class ChangeDepth(Intent):
    """Say every step, readings and holds only, or limits only."""

    depth: str  # "every-step", "readings-and-holds", "limits-only"


@dataclass(frozen=True)
class PromptKind(Intent):
    """Steps of one kind keep their own prompt where less is said, or not."""

    kind: str  # "gates", "readings", "holds", "choices"
    prompted: bool = True


@dataclass(frozen=True)
class ReadList(Intent):
    """Read the steps that come before the open one."""


@dataclass(frozen=True)
class ListDone(Intent):
    """The steps listed before the open one are done."""


@dataclass(frozen=True)
class NotDone(Intent):
    """One of the steps listed before the open one was not done."""

    number: int | None = None  # its place in the list; None: not said, the first one


@dataclass(frozen=True)
class UnderstoodDone(Intent):
    """Acknowledge the caution of the open step, and say that the step is done."""


@dataclass(frozen=True)
class NextReadings(Intent):
    """The open step is done, and readings for what comes next."""

    readings: tuple[Reading, ...]


@dataclass(frozen=True)
class StartHoldAt(Intent):
    """Readings and the start of the hold in one line."""

    readings: tuple[Reading, ...]


@dataclass(frozen=True)
class FinishJob(Intent):
    """Close the job."""

    reason: str | None = None  # while a timer runs that the procedure wants run to its end


@dataclass(frozen=True)
class OpenUnit(Intent):
    """Go on with another unit of the job."""

    unit: str  # "unit two", "indoor three", "outdoor unit four"


@dataclass(frozen=True)
class BeginUnit(Intent):
    """Begin another unit, with steps, timers and results of its own."""

    unit: str
    procedure: str | None = None  # None: that of the open unit


@dataclass(frozen=True)
class ForUnit(Intent):
    """Say something for another unit without opening it."""

    unit: str
    said: Intent


@dataclass(frozen=True)
class AskUnits(Intent):
    """Say which unit is open, and how each of them stands."""


@dataclass(frozen=True)
class GoTo(Intent):
    """Go to a stage of the procedure, ahead or back."""

    stage: str | None = None  # a name of grammar/stages.lark; None: its title was typed
    title: str | None = None  # as typed
    direction: str | None = None  # "back" where that was said
    step: str | None = None  # the step that was found to be meant, once asked about
    why: str | None = None  # of the steps that protect nobody, where the stage itself is skipped
    reasons: tuple[str, ...] = ()  # given so far for the protective steps left undone, in order


@dataclass(frozen=True)
class SkipStage(Intent):
    """Leave the rest of the open stage undone."""

    reason: str | None = None


@dataclass(frozen=True)
class CarryTest(Intent):
    """A test was held before this job, or in another one: it counts here with its date and name."""

    test: str  # "nitrogen-test", "standing-test"
    verdict: str | None = None  # "passed", "failed"; None: not said
    when: str | None = None  # "2026-11-26", "1 days ago"; None: not said
    by: str | None = None  # who held it
    figures: str | None = None  # as typed
    job: str | None = None  # the job whose log has it
    old: str | None = None  # "yes" once it was asked whether so old a test still counts


@dataclass(frozen=True)
class SaidWhen(Intent):
    """Say on which day it was."""

    when: str  # as in CarryTest


@dataclass(frozen=True)
class Because(Intent):
    """Give the reason that was asked for."""

    reason: str  # "same reason": as the one before


@dataclass(frozen=True)
class NotUnderstood(Intent):
    """The line gave no single intent; nothing happens but the reply."""

    reason: str  # one short sentence: what was wrong and what can be said instead
    kind: str = (
        "unknown"  # a label of the refusal table: "unknown", "half", "two-ways", "range", ...
    )
