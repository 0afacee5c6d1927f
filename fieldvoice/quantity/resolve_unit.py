"""Which quantity and which unit a line means; ambiguous words are settled by the quantity."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from fieldvoice.quantity.quantities import Quantity, meant_by, quantities, quantity
from fieldvoice.quantity.site import STANDARD, Site
from fieldvoice.quantity.units import (
    PRESSURE_SCALES,
    SHARED_WORDS,
    UNITS,
    counted_in,
    unit_words,
)


@dataclass(frozen=True)
class Refused:
    """Why a value gives no reading."""

    reason: str  # a sentence or two for the technician
    kind: str  # "wrong-dimension", "which-quantity", "which-unit", "impossible", "unknown"


def resolve_quantity(
    unit: str | None, said: str | None, expected: str | None
) -> Quantity | Refused:
    """The quantity said, else the one its unit alone means, else the one waited for."""
    awaited = None if expected is None else quantity(expected)
    if said is None:
        said = meant_by(unit)
    if said is not None:
        if awaited is not None and awaited.also == said:
            return awaited
        known = quantities().get(said)
        return known or Refused(f"I do not know {said.replace('-', ' ')}.", "unknown")
    return awaited or _which(unit)


def _which(unit: str | None) -> Refused:
    """No quantity was said and none is waited for."""
    if unit is None:
        reason = "A number alone. Say what it is too, such as vacuum or suction pressure."
        return Refused(reason, "which-quantity")
    fitting = [q for q in quantities().values() if _fits(unit, q)]
    if not fitting:
        return Refused(f"No reading here is in {unit_words(2, unit)}.", "which-quantity")
    return Refused(_question(fitting), "which-quantity")


def _question(fitting: list[Quantity]) -> str:
    """Which of them is it? "Which pressure? Say nitrogen, suction or liquid, then the value."."""
    named = [q for q in fitting if q.also is None]
    kinds = [q.dimension for q in named]
    if len(set(kinds)) > 1 and "temperature" not in kinds:  # pounds of pressure or of charge
        noun, shown = "reading", [*named[:2], next(q for q in named if q.dimension != kinds[0])]
    else:
        noun, shown = kinds[0], named[:3]
    if len(shown) == 1:
        return f"Which {noun}? Say {shown[0].called}, then the value."
    *most, last = (q.called.removesuffix(f" {noun}") for q in shown)
    names = f"{', '.join(most)} or {last}"
    return f"Which {noun}? Say {names}, then the value."


def _fits(unit: str, about: Quantity) -> bool:
    return not isinstance(resolve_unit(Decimal(1), unit, about, STANDARD), Refused)


def resolve_unit(
    value: Decimal, unit: str | None, about: Quantity, site: Site
) -> str | Refused:
    """The unit with nothing left open: its zero, and which of the units that share a word."""
    if unit is None:
        return default_unit(about.name, site)
    exact: str | None = unit
    if unit in SHARED_WORDS:
        exact = SHARED_WORDS[unit].get(about.kind)
        exact = site.temperature_unit if exact == "site" else exact
    elif unit in PRESSURE_SCALES and about.dimension == "pressure":
        exact = _scale(value, unit, about)
    if about.dimension.endswith(" difference") and f"delta-{exact}" in UNITS:
        exact = f"delta-{exact}"
    one = "" if exact is None else counted_in(exact)
    if exact is not None and one not in UNITS and one != "psi":
        return Refused(f"I do not know the unit {unit}.", "unknown")
    if exact is None or one == "psi" or UNITS[one].dimension != about.dimension:
        return _wrong(unit, about, site)
    return exact


def _scale(value: Decimal, unit: str, about: Quantity) -> str:
    """Gauge or absolute: by the quantity; below zero it can only be a gauge's scale.

    "psi" of a vacuum stays open, and is refused: nobody reads a vacuum in it.
    """
    gauge = about.kind == "gauge pressure" or value < 0 or unit == "inHg"
    return PRESSURE_SCALES[unit].gauge if gauge else unit


def _wrong(unit: str, about: Quantity, site: Site) -> Refused:
    example = UNITS[default_unit(about.name, site)]
    such_as = example.screen if example.dimension == "pressure" else example.words
    reason = (
        f"{about.called.capitalize()} cannot be in {unit_words(2, unit)}. "
        f"Say a {about.dimension}, such as {such_as}."
    )
    return Refused(reason, "wrong-dimension")


def default_unit(quantity_name: str, site: Site = STANDARD) -> str:
    """What a number without a unit means for this quantity at this site: "psig", "degF"."""
    about = quantity(quantity_name)
    if about.unit != "degrees":
        return about.unit
    return ("delta-" if about.kind == "temperature difference" else "") + site.temperature_unit
