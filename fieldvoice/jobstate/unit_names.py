"""What units are called, and which one a name means."""

from __future__ import annotations

from collections.abc import Iterable

from fieldvoice.jobstate.job import FIRST, Job

BETWEEN = ", "  # parts a unit from the procedure of another sheet of it
_FIRST_OF_ITS_KIND = " one"


def base(unit: str) -> str:
    """The unit without the procedure that its sheet was begun with."""
    return unit.partition(BETWEEN)[0]


def sheet(unit: str, procedure: str) -> str:
    """Another sheet of a unit: "unit one, evacuate-and-hold"."""
    return f"{base(unit)}{BETWEEN}{procedure}"


def called(job: Job, unit: str) -> str:
    """The unit in words: "unit two"; the first one is of the kind of the second."""
    name, _, procedure = unit.partition(BETWEEN)
    told = _first_called(job) if name == FIRST else name
    return f"{told}{BETWEEN}{procedure.replace('-', ' ')}" if procedure else told


def _first_called(job: Job) -> str:
    others = [base(unit) for unit in job.states if base(unit) != FIRST]
    name = others[0].rpartition(" ")[0] + _FIRST_OF_ITS_KIND if others else FIRST
    return FIRST if name in others else name


def find(job: Job, name: str) -> str | None:
    """The unit that a name means; None when it was not begun.

    Of several sheets of a unit the newest that is not closed. Until a unit of that name is begun,
    number one of any kind is the first unit.
    """
    known = {base(unit) for unit in job.states}
    wanted = name if name in known else FIRST if name.endswith(_FIRST_OF_ITS_KIND) else None
    sheets = [unit for unit in job.states if base(unit) == wanted]
    still_open = [unit for unit in sheets if not job.states[unit].finished]
    return next(reversed(still_open or sheets), None)


def is_taken(job: Job, name: str) -> bool:
    """Whether a new unit of that name would be one that is there."""
    return any(base(unit) == name or called(job, unit) == name for unit in job.states)


def listed(job: Job, units: Iterable[str], last: str = "and") -> str:
    """Their names: "unit one, unit two and unit three"."""
    *most, one = [called(job, unit) for unit in units]
    return f"{', '.join(most)} {last} {one}" if most else one


def at_the_start(text: str) -> str:
    """With a capital, to open a sentence with."""
    return text[:1].upper() + text[1:]
