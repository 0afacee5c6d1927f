"""What every question shares: refusals that name what is missing, results, temperatures."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import Any

from fieldvoice.dialogue.calculation_inputs import Missing
from fieldvoice.dialogue.turn import Turn
from fieldvoice.jobstate import events as e
from fieldvoice.quantity.convert import from_si
from fieldvoice.quantity.errors import ReadingError
from fieldvoice.quantity.units import say
from fieldvoice.trade.errors import TradeError

Handler = Callable[[Turn, Any], None]


def query(answer: Handler) -> Handler:
    """A query's handler: what is missing, or cannot be worked out, is said."""

    @wraps(answer)
    def handler(turn: Turn, intent: Any) -> None:
        try:
            answer(turn, intent)
        except Missing as missing:
            turn.refuse(str(missing))
        except (TradeError, ReadingError) as error:
            turn.refuse(f"That cannot be worked out: {error}.")

    return handler


def result(turn: Turn, about: str, verdict: str, figures: dict[str, Any]) -> None:
    """Log what was worked out."""
    turn.emit(e.VerdictGiven(about, verdict, figures, turn.state.step, turn.line))


def difference(turn: Turn, kelvin: float) -> str:
    """A difference of temperatures as the site says it."""
    unit = f"delta-{turn.state.site.temperature_unit}"
    return say(round(from_si(kelvin, unit), 1), unit)


def temperature(turn: Turn, kelvin: float) -> str:
    """A temperature as the site says it."""
    unit = turn.state.site.temperature_unit
    return say(round(from_si(kelvin, unit), 1), unit)
