"""Whether a reading can be, beside the others: relations.toml held against the job."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from fieldvoice.dialogue import prompts
from fieldvoice.dialogue.turn import Turn
from fieldvoice.jobstate.records import LoggedReading
from fieldvoice.jobstate.state import JobState
from fieldvoice.quantity.convert import from_si
from fieldvoice.quantity.quantities import speakable
from fieldvoice.quantity.relations import Relation, Side, relations
from fieldvoice.quantity.resolve_reading import Resolved
from fieldvoice.quantity.units import say
from fieldvoice.trade.errors import TradeError
from fieldvoice.trade.refrigerant import saturation

_WORK_OUT: Mapping[str, Callable[[str, float], float]] = {
    "dew": saturation.dew_temperature_k, "bubble": saturation.bubble_temperature_k,
}


def impossible(turn: Turn, found: Resolved, leaving_out: int = 0) -> str | None:
    """Why a value cannot be, beside what was read before; None: nothing speaks against it.

    `leaving_out`: seq of the reading that it replaces.
    """
    broken = (_broken(turn, row, found, leaving_out) for row in relations()
              if found.quantity in _quantities(row) and _holds(turn, row, leaving_out))
    return next((why for why in broken if why is not None), None)


def _quantities(row: Relation) -> tuple[str, ...]:
    return tuple(side.quantity for side in (row.lower, row.higher) if side is not None)


def _holds(turn: Turn, row: Relation, leaving_out: int) -> bool:
    """Whether the row says something about now."""
    state, step = turn.state, turn.state.open_step
    if row.during and not (step and step.hold and step.hold.judge == row.during and state.hold):
        return False
    if row.stages and (step is None or step.stage not in row.stages):
        return False
    before = _last(turn, row, row.after, leaving_out) if row.after else None
    if row.after:
        if before is None:
            return False
        most = row.amount(row.after_at_most, row.after, state.site.atmosphere_pa)
        if before.si > most:
            return False
    return not _over(state, row, before)


def _over(state: JobState, row: Relation, before: LoggedReading | None) -> bool:
    """Whether one of the steps was reached that end the relation."""
    if state.step in row.until:
        return True
    since = before.seq if before is not None else 0
    return any(left.step in row.until and left.seq > since for left in state.trail)


def _broken(turn: Turn, row: Relation, found: Resolved, leaving_out: int) -> str | None:
    site = turn.state.site
    if row.higher is None:
        most = row.amount(row.at_most, row.lower.quantity, site.atmosphere_pa)
        if found.si <= most + row.slack_si:
            return None
        other = _last(turn, row, row.after, leaving_out) if row.after else None
        return row.because if other is None else f"{row.because} {_told(other)}"
    mine, theirs = row.lower, row.higher
    if found.quantity != mine.quantity:
        mine, theirs = theirs, mine
    other = _last(turn, row, theirs.quantity, leaving_out)
    if other is None:
        return None
    state = turn.state
    values = {mine: _value(state, mine, found.si), theirs: _value(state, theirs, other.si)}
    low, high = values[row.lower], values[row.higher]
    if low is None or high is None or low <= high + row.slack_si:
        return None
    worked = next((side for side in (row.lower, row.higher) if side.worked), None)
    limit = "" if worked is None else f" It is {_temperature(turn, values[worked])} there."
    return f"{row.because} {_told(other)}{limit}"


def _value(state: JobState, side: Side, si: float) -> float | None:
    """The value to compare, SI; None where it cannot be worked out."""
    if not side.worked:
        return si
    name = state.facts.get("refrigerant")
    try:
        return None if name is None else _WORK_OUT[side.worked](name, si)
    except TradeError:
        return None


def _last(turn: Turn, row: Relation, quantity: str, leaving_out: int) -> LoggedReading | None:
    """The last reading of a quantity, as long as it is fresh enough for the row."""
    taken = next((t for t in turn.state.newest_first(turn.state.history.readings)
                  if t.quantity == quantity and t.seq != leaving_out), None)
    if taken is None or row.fresh_s is None:
        return taken
    return taken if (turn.now - taken.at).total_seconds() <= row.fresh_s else None


def _told(other: LoggedReading) -> str:
    return f"The last {speakable(other.quantity)} is {prompts.shown(other)}."


def _temperature(turn: Turn, kelvin: float | None) -> str:
    unit = turn.state.site.temperature_unit
    return say(round(from_si(kelvin or 0.0, unit)), unit)
