"""A reading amended at the desk: resolved and judged as on the job, doubted where it is unusual."""

from __future__ import annotations

from decimal import Decimal, InvalidOperation

from fieldvoice.desk.errors import NotDone
from fieldvoice.dialogue.safeguards import plate
from fieldvoice.jobstate import events as e
from fieldvoice.jobstate.records import LoggedReading
from fieldvoice.jobstate.state import JobState
from fieldvoice.quantity.errors import ReadingError
from fieldvoice.quantity.plausible import surprising
from fieldvoice.quantity.resolve_reading import Resolved, resolve
from fieldvoice.quantity.resolve_unit import Refused
from fieldvoice.quantity.units import say
from fieldvoice.review.logged_job import LoggedJob


class Doubted(NotDone):
    """The value is unlikely: it counts once the reviewer says that it is meant."""


def amended(
    job: LoggedJob, seq: int, value: str, unit: str, reviewer: str, reason: str, *, sure: bool
) -> e.ReadingAmended:
    """The event that puts a value in the place of a reading's. Raises NotDone, Doubted.

    `seq`: of the ReadingTaken; `value`: a decimal number as it was typed; `sure`: it was doubted
    already and is meant.
    """
    state = job.state
    reading = next((r for r in state.readings if r.seq == seq), None)
    if reading is None:
        raise NotDone("That reading does not count any more; there is nothing to amend.")
    if not reason:
        raise NotDone("Say why it is amended: whoever reads the report will ask.")
    found = _resolved(job, reading, value, unit)
    if (found.value, found.unit) == (_number(reading.now.said), reading.now.unit):
        raise NotDone(f"It is {say(found.value, found.unit)} already.")
    doubt = surprising(found, site=job.site)
    if doubt is not None and not sure:
        raise Doubted(f"{say(found.value, found.unit)}? {doubt} "
                           "Tick “I mean it” to let it count all the same.")
    over = plate.over(state, found)
    over_plate = None if over is None else say(over.now.value, over.now.unit)
    return e.ReadingAmended(seq, str(found.value), found.unit, found.si, found.si_unit, reviewer,
                            reason, _within(state, reading, found.si), over_plate)


def _number(text: str) -> Decimal:
    try:
        number = Decimal(text.strip().replace(",", ""))
    except InvalidOperation:
        number = Decimal("NaN")
    if not number.is_finite() or len(text) > 40:
        raise NotDone(f"{text[:40]!r} is no number. Write it like 412 or 29.9.")
    return number


def _resolved(job: LoggedJob, reading: LoggedReading, value: str, unit: str) -> Resolved:
    try:
        found = resolve(_number(value), unit, reading.quantity, expected=reading.quantity,
                        site=job.site)
    except (ReadingError, OverflowError) as error:
        raise NotDone(f"That cannot be such a reading: {error}.") from None
    if isinstance(found, Refused):
        raise NotDone(found.reason)
    return found


def _within(state: JobState, reading: LoggedReading, si: float) -> bool | None:
    """Inside the limits that the reading was compared with when it was taken."""
    step = state.procedure.by_name.get(reading.step)
    if step is None:
        return None
    if reading.hold is not None and step.hold is not None and step.hold.limit is not None:
        return si <= state.limit_si(step.hold.limit) if step.hold.judge == "decay" else None
    need = next((n for n in step.needs if n.quantity == reading.quantity), None)
    return None if need is None else state.within(need, si)
