"""A fact as it is read back: what hurts when it is wrong with what it means."""

from __future__ import annotations

from decimal import Decimal

from fieldvoice.jobstate.state import JobState
from fieldvoice.quantity.convert import from_si
from fieldvoice.quantity.facts import called, facts
from fieldvoice.quantity.site import site_from
from fieldvoice.quantity.units import say, unit_words
from fieldvoice.trade.refrigerant.flammable_charge import burning
from fieldvoice.trade.refrigerant.refrigerants import known


def shown(name: str, value: str) -> str:
    """The value on the screen: "5,280 ft", "R-454B"."""
    fact = facts().get(name)
    if fact is None or fact.kind != "amount":
        return value.replace("-", " ") if fact is None or fact.kind == "criterion" else value
    number, _, unit = value.partition(" ")
    try:
        return say(Decimal(number), unit)
    except ArithmeticError:  # a log made elsewhere
        return value


def spoken(name: str, value: str) -> str:
    """The value as it is said; ounces a foot have no words of their own."""
    fact = facts().get(name)
    if fact is None or fact.dimension != "mass per length":
        return shown(name, value)
    number, _, unit = value.partition(" ")
    over, _, under = unit.partition("/")
    return f"{number} {unit_words(2, over)} a {unit_words(1, under)}"


def read_back(state: JobState, name: str, before: str | None) -> tuple[str, str]:
    """What is said once a fact was told, on the screen and aloud; `before`: what it replaces."""
    texts = []
    for words in (shown, spoken):
        text = _named(name, words(name, state.facts[name]))
        if before is not None:
            text += f", not {words(name, before)}"
        texts.append(f"{text}.{_meaning(state, name)}")
    return texts[0], texts[1]


def _named(name: str, value: str) -> str:
    fact = facts().get(name)
    if fact is None or fact.kind == "text":
        return f"{called(name).capitalize()}: {value}"
    found = known(value) if fact.kind == "refrigerant" else None
    if found is not None:
        burns = (burning(value) or "").replace("-", " ")
        return f"{found.name}, class {found.safety_class}, {burns}"
    return f"{called(name).capitalize()} {value}"


def _meaning(state: JobState, name: str) -> str:
    if name not in ("altitude", "atmosphere"):
        return ""
    air = say(round(from_si(site_from(state.facts).atmosphere_pa, "inHg"), 1), "inHg")
    return f" Readings count from air at {air} from here on."
