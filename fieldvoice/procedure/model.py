"""A procedure: the steps that a job follows, read from plain text (grammar/procedure.lark)."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property

from fieldvoice.procedure.settings import NOWHERE, Caution, Criterion, Limit, Place, ProcedureError
from fieldvoice.procedure.step import Need, Step, Way
from fieldvoice.quantity.amount import read_amount
from fieldvoice.quantity.convert import named
from fieldvoice.quantity.errors import ReadingError
from fieldvoice.quantity.units import UNITS


@dataclass(frozen=True)
class Stage:
    """A titled run of steps."""

    name: str
    title: str
    place: Place = NOWHERE
    called: tuple[str, ...] = ()  # names of grammar/stages.lark
    part_of: str = ""  # the test that stands for this stage where it is carried over
    again: str | None = None  # the step at which a jump back to it begins
    needs: tuple[Need, ...] = ()  # what must not have been read outside before a jump to it
    counts_as: str = ""  # a name of grammar/stages.lark, where it is not said by it

    @property
    def everywhere(self) -> str:
        """Its name in every job's log, so that shops can compare: "evacuation", "leak-search"."""
        return self.counts_as or next(iter(self.called), "") or self.part_of or self.name


@dataclass(frozen=True)
class Include:
    """The steps of another procedure, from one of them on; its endings may lead on here."""

    name: str
    start: str | None
    outcomes: tuple[Way, ...]
    before: int  # how many steps of this file stand before it
    place: Place = NOWHERE
    prefix: str = ""  # stands before the names of its steps, so that they can be there twice


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
    def beside(self) -> frozenset[str]:
        """Titles of the timers that run beside its steps."""
        return frozenset(step.timer.title for step in self.steps if step.timer)

    @cached_property
    def below(self) -> Mapping[str, str | None]:
        """The step written below each step; None after the last."""
        names = [step.name for step in self.steps]
        return dict(zip(names, [*names[1:], None], strict=True))

    def step(self, name: str) -> Step:
        """The step of that name; KeyError when there is none."""
        return self.by_name[name]

    def acknowledges(self, step: Step) -> bool:
        """Whether a caution of the step is acknowledged aloud."""
        return any(self.cautions[name].acknowledge for name in step.cautions
                   if name in self.cautions)

    def protects(self, step: Step) -> bool:
        """A gate, or a step whose caution is acknowledged aloud."""
        return step.gate or self.acknowledges(step)

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
    if limit.figure and limit.of != limit.name:  # one of its own name may be known before
        raise ProcedureError(limit.place, f"the site gives {limit.name} as {text!r}",
                             f"it follows the {limit.of.replace('-', ' ')}: say that when asked")
    base = UNITS.get(limit.unit)
    try:
        found = read_amount(f"the site's {limit.name}", text, base.dimension if base else "")
        named(found.unit.name)
    except ReadingError as error:
        raise ProcedureError(limit.place, str(error), f"give it such as '{limit}'") from None
    return replace(limit, value=found.value, unit=found.unit.name, source="given for this job")
