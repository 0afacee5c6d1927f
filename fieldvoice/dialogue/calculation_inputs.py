"""What a calculation needs from the job state, or what to say when it is not there."""

from __future__ import annotations

from fieldvoice.errors import FieldvoiceError
from fieldvoice.jobstate.records import LoggedReading
from fieldvoice.jobstate.state import JobState
from fieldvoice.quantity.facts import facts
from fieldvoice.quantity.quantities import speakable
from fieldvoice.trade.charge import tube
from fieldvoice.trade.errors import TradeError


class Missing(FieldvoiceError):
    """What is not known yet; the message is the reply."""


def need(state: JobState, quantity: str, what_for: str) -> LoggedReading:
    """The last reading of a quantity; raises Missing with what to say."""
    last = state.last(quantity)
    if last is None:
        name = speakable(quantity)
        raise Missing(f"For the {what_for} I need the {name}. Say the {name} and its value.")
    return last


def fact(state: JobState, name: str, what_for: str) -> str:
    """A fact of the job; raises Missing with what to say."""
    found = state.facts.get(name)
    if found is None:
        about = facts()[name]
        raise Missing(f"For the {what_for} I need the {about.called}. "
                      f"Say, for example: {about.said}.")
    return found


def system_volume(state: JobState) -> tuple[float | None, str | None]:
    """Volume under vacuum in m3 and what it is the volume of; (None, None) when not known.

    A reading of the system volume counts first. Without one it is that of the tubes, from the
    facts liquid-line and suction-line and the line length read: without coils, hence too small.
    """
    said = state.last("system-volume")
    if said is not None:
        return said.si, "the system, as read"
    length = state.last("line-length")
    sizes = [state.facts[key] for key in ("liquid-line", "suction-line") if key in state.facts]
    if length is None or not sizes:
        return None, None
    try:
        found = sum(tube.line_set_volume({size: length.si}).volume_m3 for size in sizes)
    except TradeError as error:
        return None, f"not known: {error}"
    return found, f"{' and '.join(sizes)} tube alone, no coils: a leak is at least the rate given"
