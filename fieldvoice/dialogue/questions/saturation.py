"""The saturation temperature of the job's refrigerant, at a pressure that was read or named."""

from __future__ import annotations

from fieldvoice.dialogue import prompts
from fieldvoice.dialogue.calculation_inputs import Missing, fact
from fieldvoice.dialogue.questions.answering import query, result, temperature
from fieldvoice.dialogue.turn import Turn
from fieldvoice.language import intents as i
from fieldvoice.quantity.quantities import speakable
from fieldvoice.quantity.resolve_reading import resolve
from fieldvoice.quantity.resolve_unit import Refused
from fieldvoice.quantity.units import say
from fieldvoice.trade.refrigerant import saturation

SUCTION = "suction-pressure"
SIDES = (SUCTION, "liquid-pressure", "discharge-pressure")
GLIDE_K = 0.3  # from here on both ends are told: half a degree Fahrenheit, as gauges show


@query
def at_pressure(turn: Turn, intent: i.AskSaturation) -> None:
    """Bubble and dew temperature of a blend, one temperature of any other refrigerant."""
    name = fact(turn.state, "refrigerant", "saturation temperature")
    pressure_pa, at = _pressure(turn, intent)
    found = saturation.saturation(name, pressure_pa)
    bubble, dew = temperature(turn, found.bubble_k), temperature(turn, found.dew_k)
    value = dew if abs(found.glide_k) < GLIDE_K else f"bubble {bubble}, dew {dew}"
    result(turn, "saturation", value, found.to_dict())
    turn.answer(f"{found.refrigerant} at {at}: {value}.")


def _pressure(turn: Turn, intent: i.AskSaturation) -> tuple[float, str]:
    """Absolute pressure and how it is told: the one named, or the last one of a running system."""
    if intent.value is not None:
        found = resolve(intent.value, intent.unit, intent.quantity or SUCTION,
                        site=turn.state.site)
        if isinstance(found, Refused):
            raise Missing(found.reason)
        return found.si, say(found.value, found.unit)
    wanted = (intent.quantity,) if intent.quantity else SIDES
    last = next((t for t in turn.state.newest_first(turn.state.history.readings)
                 if t.quantity in wanted), None)
    if last is None:
        what = speakable(intent.quantity) if intent.quantity else "suction or liquid pressure"
        raise Missing(f"For the saturation temperature I need the {what}. "
                      "Say it, or say: saturation at one eighteen.")
    return last.si, f"{speakable(last.quantity)} {prompts.shown(last)}"
