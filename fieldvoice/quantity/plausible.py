"""Whether a value is so unlikely that it is read back before it counts."""

from __future__ import annotations

from fieldvoice.quantity.quantities import Quantity

_SLACK = 1e-9  # so that a limit said in another unit is not missed by rounding


def why_surprising(quantity: Quantity, value: float, last: float | None) -> str | None:
    """Name the rule broken: "low", "high", "rise", "fall", "step"; None: plausible.

    `value` and `last` (the reading before, None: the first one) are in `quantity.table_unit`.
    A slip of the ear or of the tongue mostly moves a digit, so ratios are judged rather than
    differences wherever the scale starts at zero.
    """
    slack = _SLACK * max(abs(quantity.low), abs(quantity.high), 1.0)
    if value < quantity.low - slack:
        return "low"
    if value > quantity.high + slack:
        return "high"
    return None if last is None else _jump(quantity, value, last)


def _jump(quantity: Quantity, value: float, last: float) -> str | None:
    if quantity.step is not None and abs(value - last) > quantity.step * (1 + _SLACK):
        return "step"
    if value <= 0 or last <= 0:  # bled down to zero, or up from it: no ratio
        return None
    if quantity.rise is not None and value > last * quantity.rise:
        return "rise"
    judged = quantity.fall_below is None or last <= quantity.fall_below
    if quantity.fall is not None and judged and value * quantity.fall < last:
        return "fall"
    return None
