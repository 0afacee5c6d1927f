"""A procedure: the steps that a job follows, read from plain text (grammar/procedure.lark)."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from decimal import Decimal
from functools import cached_property

from fieldvoice.errors import FieldvoiceError
from fieldvoice.quantity.amount import read_amount
from fieldvoice.quantity.convert import named
from fieldvoice.quantity.errors import ReadingError
from fieldvoice.quantity.units import UNITS

VERDICTS: Mapping[str, tuple[str, ...]] = {
    "decay": ("tight", "wet", "leaking", "not-yet-clear"),
    "nitrogen": ("passed", "failed", "gaining", "not-yet-clear"),
}
CHECKS: Mapping[str, tuple[str, ...]] = {
    "superheat": ("on-target", "high", "low", "not-known"),
    "subcooling": ("on-target", "high", "low", "not-known"),
}
# readings that a check works with
CHECKED: Mapping[str, tuple[str, ...]] = {
    "superheat": ("suction-pressure", "suction-temperature", "indoor-wet-bulb",
                  "outdoor-temperature"),
    "subcooling": ("liquid-pressure", "liquid-temperature"),
}

# the reading that a judge works with
JUDGED: Mapping[str, str] = {"decay": "vacuum", "nitrogen": "nitrogen-pressure"}
# readings beside the hold's own that a judge needs after the time is over
CLOSING: Mapping[str, tuple[str, ...]] = {"nitrogen": ("ambient-temperature",)}


@dataclass(frozen=True)
class Place:
    """Where something stands; both count from 1. `file` is set for what was included."""

    line: int = 0
    column: int = 0
    file: str = ""

    def __str__(self) -> str:
        where = f"line {self.line}, column {self.column}"
        return f"{self.file}, {where}" if self.file else where


class ProcedureError(FieldvoiceError, ValueError):
    """A fault in a procedure: what is wrong, where, and what to do about it."""

    def __init__(self, place: Place, what: str, advice: str) -> None:
        super().__init__(f"{place}: {what}; {advice}")
        self.place, self.what, self.advice = place, what, advice
        self.line, self.column = place.line, place.column


@dataclass(frozen=True)
class Limit:
    """A named setting of the procedure: a value with its unit, and who says so.

    With a `figure` (a key of worked_limits.FIGURES) the value counts only until `of` was read.
    """

    name: str
    value: Decimal
    unit: str
    source: str
    place: Place = Place()
    figure: str = ""
    of: str = ""  # a quantity

    def __str__(self) -> str:
        return f"{self.value:,} {self.unit}"


@dataclass(frozen=True)
class Criterion:
    """Other values for some limits, taken together from one document."""

    name: str
    document: str
    settings: tuple[Limit, ...]
    place: Place = Place()


@dataclass(frozen=True)
class Caution:
    """A warning spoken before a step."""

    name: str
    text: str
    acknowledge: bool = False  # the step waits until it is acknowledged aloud
    place: Place = Place()


@dataclass(frozen=True)
class Need:
    """A reading that a step requires; `low` and `high` name limits."""

    quantity: str
    low: str | None = None
    high: str | None = None
    times: int = 1
    otherwise: str | None = None  # step to go to when a reading lies outside
    place: Place = Place()

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
    place: Place = Place()

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
    place: Place = Place()


@dataclass(frozen=True)
class Check:
    """A comparison with a target, made when the readings of the step are there."""

    kind: str  # a key of CHECKS
    limit: str | None = None  # the target, where it is a setting
    place: Place = Place()


@dataclass(frozen=True)
class Way:
    """A way on: `name` is the verdict or option, `to` a step or None for the one below."""

    name: str
    to: str | None
    text: str = ""
    place: Place = Place()


@dataclass(frozen=True)
class When:
    """A step applies only when the answer is one of the options (or not known).

    With limits in place of options, `answer` is a quantity whose last reading lies between them.
    """

    answer: str
    options: tuple[str, ...] = ()
    place: Place = Place()
    low: str | None = None
    high: str | None = None

    @property
    def limits(self) -> tuple[str, ...]:
        """Names of the limits that a reading is compared with; empty for an answer."""
        return tuple(name for name in (self.low, self.high) if name)


@dataclass(frozen=True)
class Repeat:
    """Go back to `start` until this step has been done `times` times."""

    start: str
    times: int
    place: Place = Place()


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
    when: tuple[When, ...] = ()
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
    place: Place = Place()
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
            named += [self.hold.duration, self.hold.limit or ""]
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


@dataclass(frozen=True)
class Stage:
    """A titled run of steps."""

    name: str
    title: str
    place: Place = Place()


@dataclass(frozen=True)
class Include:
    """The steps of another procedure, from one of them on; its endings may lead on here."""

    name: str
    start: str | None
    outcomes: tuple[Way, ...]
    before: int  # how many steps of this file stand before it
    place: Place = Place()


@dataclass(frozen=True)
class Procedure:
    """A whole procedure. Its text is kept in each job's folder, so it cannot change under a job."""

    name: str
    title: str
    text: str
    intro: str = ""
    limits: Mapping[str, Limit] = field(default_factory=dict)
    criteria: Mapping[str, Criterion] = field(default_factory=dict)
    cautions: Mapping[str, Caution] = field(default_factory=dict)
    opening: tuple[str, ...] = ()  # cautions spoken when a job begins
    opening_places: Mapping[str, Place] = field(default_factory=dict)
    stages: Mapping[str, Stage] = field(default_factory=dict)
    steps: tuple[Step, ...] = ()
    includes: tuple[Include, ...] = ()  # none once they are expanded

    @property
    def sha256(self) -> str:
        """Of the text, as the job log records it."""
        return hashlib.sha256(self.text.encode()).hexdigest()

    @cached_property
    def by_name(self) -> Mapping[str, Step]:
        """The steps by their names."""
        return {step.name: step for step in self.steps}

    @cached_property
    def below(self) -> Mapping[str, str | None]:
        """The step written below each step; None after the last."""
        names = [step.name for step in self.steps]
        return dict(zip(names, [*names[1:], None], strict=True))

    def step(self, name: str) -> Step:
        """The step of that name; KeyError when there is none."""
        return self.by_name[name]

    def destination(self, step: Step, to: str | None) -> str | None:
        """Where a way leads: its own target, else the step's `go to`, else the step below."""
        if to is not None:
            return to
        return step.go.to if step.go else self.below[step.name]

    def with_site(self, site: Mapping[str, str]) -> Procedure:
        """The procedure with the limits that a site asks for.

        "criterion" names one of the criteria, or its document; the name of a limit gives that limit
        another value, from the nameplate perhaps: {"target-subcooling": "8 delta-degF"}.
        Raises ProcedureError for a criterion or an amount that cannot be.
        """
        limits = dict(self.limits)
        if "criterion" in site:
            chosen = self._criterion(site["criterion"])
            limits |= {s.name: s for s in chosen.settings}
        limits |= {name: _own_limit(limits[name], text) for name, text in site.items()
                   if name in limits}
        return replace(self, limits=limits)

    def _criterion(self, wanted: str) -> Criterion:
        for criterion in self.criteria.values():
            if wanted in (criterion.name, criterion.document):
                return criterion
        offered = ", ".join(self.criteria) or "none"
        raise ProcedureError(Place(1, 1), f"no criterion is called {wanted!r}",
                             f"this procedure offers: {offered}")


def _own_limit(limit: Limit, text: str) -> Limit:
    """The limit with the value that the site gave for it, in a unit that measures the same."""
    if limit.figure:
        raise ProcedureError(limit.place, f"the site gives {limit.name} as {text!r}",
                             f"it follows the {limit.of.replace('-', ' ')}: say that when asked")
    base = UNITS.get(limit.unit)
    try:
        found = read_amount(f"the site's {limit.name}", text, base.dimension if base else "")
        named(found.unit.name)
    except ReadingError as error:
        raise ProcedureError(limit.place, str(error), f"give it such as '{limit}'") from None
    return replace(limit, value=found.value, unit=found.unit.name, source="given for this job")
