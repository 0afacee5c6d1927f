"""Whether a value is so unlikely that it is read back before it counts."""

from __future__ import annotations

from collections.abc import Sequence

from fieldvoice.quantity.convert import from_si, one_in_si, to_si
from fieldvoice.quantity.quantities import Quantity, quantity
from fieldvoice.quantity.resolve_reading import Resolved
from fieldvoice.quantity.resolve_unit import default_unit
from fieldvoice.quantity.site import STANDARD, Site
from fieldvoice.quantity.units import SAID_TOGETHER, UNITS, counted_in, say, shown

LONG_FIGURE = 100_000  # a range in this many of a unit is told in the usual unit instead
# On a compound gauge a needle that went back by more than so many inches was misread, or the vacuum
# is lost (judgement): a line of its scale is half an inch or more, so ratios say nothing there.
LOST_INHG = 5.0
_SLACK = 1e-9  # so that a limit said in another unit is not missed by rounding


def surprising(
    reading: Resolved, earlier: Sequence[float] = (), *, site: Site = STANDARD
) -> str | None:
    """Why the reading should be read back before it counts; None: it is plausible.

    `earlier` holds the SI values of the same quantity's last readings, oldest first.
    """
    about, air = quantity(reading.quantity), site.atmosphere_pa
    unit = about.table_unit
    last = from_si(earlier[-1], unit, air) if earlier else None
    if _on_compound_gauge(about, reading.unit):
        broken = _lost(reading.si, earlier)
    else:
        broken = why_surprising(about, from_si(reading.si, unit, air), last)
    if broken is None:
        return None
    if broken in ("low", "high"):
        return f"The usual {about.called} is {_usual(about, reading.unit, site)}."
    before = say(from_si(earlier[-1], reading.unit, air), reading.unit)
    more = reading.si > earlier[-1]
    if _zero(reading.unit) == "below":  # the number falls where the pressure rises
        more = not more
    return f"That is far {'above' if more else 'below'} the last {about.called}, {before}."


def _zero(unit: str) -> str:
    return UNITS[counted_in(unit)].zero


def _on_compound_gauge(about: Quantity, unit: str) -> bool:
    return about.from_air and _zero(unit) == "below"


def _lost(si: float, earlier: Sequence[float]) -> str | None:
    """A compound gauge shows all between the air and a full vacuum; only a loss is surprising."""
    lost = bool(earlier) and si - earlier[-1] > LOST_INHG * one_in_si("inHg") * (1 + _SLACK)
    return "rise" if lost else None


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


def _usual(about: Quantity, unit: str, site: Site) -> str:
    """A quantity's range in a unit; in the usual unit where that one gives figures too long.

    So, too, where the unit counts from the air and a part of the range lies on its other side.
    """
    air = site.atmosphere_pa
    exact = [to_si(end, about.table_unit, air) for end in (about.low, about.high)]
    low, high = sorted(from_si(end, unit, air) for end in exact)
    beyond = low < 0 if _zero(unit) == "below" else about.kind == "vacuum" and high < 0
    if high >= LONG_FIGURE or unit == "in" or unit in SAID_TOGETHER or beyond:
        unit = default_unit(about.name, site)
        low, high = sorted(from_si(end, unit, air) for end in exact)
    return f"{shown(low)} to {say(high, unit)}"
