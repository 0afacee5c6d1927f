"""A step of a procedure, and its parts: readings, hold, timer, check, ways on."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal

from fieldvoice.procedure.settings import NOWHERE, Place
from fieldvoice.procedure.verdicts import CHECKS, CLOSING, VERDICTS


@dataclass(frozen=True)
class Need:
    """A reading that a step requires; `low` and `high` name limits."""

    quantity: str
    low: str | None = None
    high: str | None = None
    times: int = 1
    otherwise: str | None = None  # step to go to when a reading lies outside
    place: Place = NOWHERE

    @property
    def limits(self) -> tuple[str, ...]:
        """Names of the limits that it is compared with."""
        return tuple(name for name in (self.low, self.high) if name)


@dataclass(frozen=True)
class Hold:
    """A timed wait; minutes count from its start."""

    duration: str  # a limit in time
    title: str
    quantity: str | None = None  # asked for at the marks
    marks: tuple[Decimal, ...] = ()  # minutes
    every: Decimal | None = None  # minutes between marks after the last of `marks`
    judge: str | None = None  # a key of VERDICTS
    limit: str | None = None  # what the judge compares with
    place: Place = NOWHERE
    forgiven: str | None = None  # a limit: judge nitrogen spares this share of tight systems

    @property
    def closing(self) -> tuple[str, ...]:
        """The readings that the verdict waits for once the time is over."""
        own = (self.quantity,) if self.quantity else ()
        return own + CLOSING.get(self.judge or "", ())


@dataclass(frozen=True)
class Beside:
    """A timer that starts when its step is done, and runs while the next ones are worked on."""

    duration: str  # a limit in time
    title: str
    place: Place = NOWHERE


@dataclass(frozen=True)
class Check:
    """A comparison with a target, made when the readings of the step are there."""

    kind: str  # a key of CHECKS
    limit: str | None = None  # the target, where it is a setting
    place: Place = NOWHERE


@dataclass(frozen=True)
class Way:
    """A way on: `name` is the verdict or option, `to` a step or None for the one below."""

    name: str
    to: str | None
    text: str = ""
    place: Place = NOWHERE


@dataclass(frozen=True)
class When:
    """A step applies only when the answer is one of the options (or not known).

    With limits in place of options, `answer` is a quantity whose last reading lies between them.
    """

    answer: str
    options: tuple[str, ...] = ()
    place: Place = NOWHERE
    low: str | None = None
    high: str | None = None

    @property
    def limits(self) -> tuple[str, ...]:
        """Names of the limits that a reading is compared with; empty for an answer."""
        return tuple(name for name in (self.low, self.high) if name)


@dataclass(frozen=True)
class Know:
    """A fact of the place or the equipment that a step waits for; passed over once it is known."""

    fact: str  # a name of quantity/facts.toml
    place: Place = NOWHERE


@dataclass(frozen=True)
class Repeat:
    """Go back to `start` until this step has been done `times` times."""

    start: str
    times: int
    place: Place = NOWHERE


@dataclass(frozen=True)
class Bar:
    """Once the step is done, no jump leads before it until one of the others is done."""

    until: tuple[str, ...] = ()  # names of steps; empty: never in this job
    place: Place = NOWHERE


@dataclass(frozen=True)
class Ending:
    """The job ends here."""

    name: str
    text: str = ""


@dataclass(frozen=True)
class Step:
    """One action of the technician."""

    name: str
    stage: str
    say: str = ""
    show: str = ""
    why: str = ""
    cautions: tuple[str, ...] = ()
    gate: bool = False
    always: bool = False  # a plain step that is prompted by itself however little is said
    once: bool = False  # done once a job, however many units or procedures it has
    when: tuple[When, ...] = ()
    know: Know | None = None
    needs: tuple[Need, ...] = ()
    hold: Hold | None = None
    timer: Beside | None = None
    check: Check | None = None
    branches: tuple[Way, ...] = ()
    choices: tuple[Way, ...] = ()
    exits: tuple[Way, ...] = ()  # ways out that are open before the step is done
    repeat: Repeat | None = None
    go: Way | None = None
    ending: Ending | None = None
    bar: Bar | None = None
    place: Place = NOWHERE
    places: Mapping[str, Place] = field(default_factory=dict)  # of "say", "show", "why", cautions

    def at(self, part: str) -> Place:
        """Where a text or a caution of the step stands; the step itself where that is not known."""
        return self.places.get(part, self.place)

    @property
    def limits(self) -> tuple[str, ...]:
        """Names of the limits that conditions, readings, hold, timer and check go by."""
        named = [name for when in self.when for name in when.limits]
        named += [name for need in self.needs for name in need.limits]
        if self.hold:
            named += [self.hold.duration, self.hold.limit or "", self.hold.forgiven or ""]
        if self.timer:
            named.append(self.timer.duration)
        if self.check:
            named.append(self.check.limit or "")
        return tuple(name for name in named if name)

    def way(self, name: str) -> Way | None:
        """The branch, choice or exit of that name."""
        return next((w for w in self.ways if w.name == name), None)

    @property
    def verdicts(self) -> tuple[str, ...]:
        """The verdicts that the step can come to; empty when it judges nothing."""
        if self.check is not None:
            return CHECKS.get(self.check.kind, ())
        return VERDICTS.get(self.hold.judge or "", ()) if self.hold else ()

    @property
    def ways(self) -> tuple[Way, ...]:
        """Every named way on."""
        return self.branches + self.choices + self.exits
