"""The temperature split of the air: return less supply, held against common practice."""

from __future__ import annotations

from fieldvoice.dialogue.calculation_inputs import need
from fieldvoice.dialogue.questions.answering import difference, query, result
from fieldvoice.dialogue.turn import Turn
from fieldvoice.language import intents as i
from fieldvoice.trade.air.usual_split import USUAL_SPLIT_F, split_reason, split_verdict


@query
def verdict(turn: Turn, _intent: i.Intent) -> None:
    """Small, usual or large in cooling, by the last return and supply air."""
    returned = need(turn.state, "return-air", "temperature split")
    supplied = need(turn.state, "supply-air", "temperature split")
    split_k = returned.si - supplied.si
    low, high = (difference(turn, end / 1.8) for end in USUAL_SPLIT_F)
    result(turn, "split", split_verdict(split_k), {
        "split_k": split_k, "return_k": returned.si, "supply_k": supplied.si,
        "source": "common practice"})
    turn.answer(f"{split_reason(split_k, difference(turn, split_k))} "
                f"Common practice: {low} to {high}.")
