"""A gauge too coarse for a vacuum limit: its readings are kept, and do not count."""

from __future__ import annotations

from fieldvoice.jobstate.state import JobState
from fieldvoice.procedure.step import Need
from fieldvoice.quantity.constants import microns
from fieldvoice.quantity.quantities import quantity
from fieldvoice.quantity.resolve_reading import Resolved, last_digit_si
from fieldvoice.quantity.units import say
from fieldvoice.trade.vacuum.gauge_step import unfit_for_hold


def unfit(state: JobState, found: Resolved, need: Need | None, in_hold: bool) -> str | None:
    """Why a vacuum does not count against the limit of the need or the hold; None: it does."""
    if quantity(found.quantity).kind != "vacuum":
        return None
    step = state.open_step
    hold = step.hold if step is not None and in_hold else None
    of_need = need.high if need is not None else None
    name = hold.limit if hold is not None and hold.judge == "decay" else of_need
    if name is None:
        return None
    last_digit, limit_pa = last_digit_si(found), state.limit_si(name)
    if hold is None and found.si - last_digit > limit_pa:
        return None  # whatever the digits behind it: above the limit
    if unfit_for_hold(last_digit, limit_pa) is None:
        return None
    limit = state.limit(name)
    return (f"Its last digit is worth {say(round(microns(last_digit)), 'microns')}; the limit is "
            f"{say(limit.value, limit.unit)}. Read an electronic vacuum gauge.")
