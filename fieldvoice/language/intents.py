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
    if hint.startswith("tuple") and isinstance(value, list):
        return tuple(Intent.from_dict(v) for v in value)
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
class FinishJob(Intent):
    """Close the job."""

    reason: str | None = None  # while a timer runs that the procedure wants run to its end


@dataclass(frozen=True)
class NotUnderstood(Intent):
    """The line gave no single intent; nothing happens but the reply."""

    reason: str  # one short sentence: what was wrong and what can be said instead
    kind: str = (
        "unknown"  # a label of the refusal table: "unknown", "half", "two-ways", "range", ...
    )
