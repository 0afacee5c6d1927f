"""The value of a fact as it is kept: read from text, by the table of facts and the procedure."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from decimal import Decimal
from difflib import get_close_matches

from fieldvoice.errors import FieldvoiceError
from fieldvoice.procedure.model import Procedure
from fieldvoice.procedure.settings import ProcedureError
from fieldvoice.quantity.amount import amount_si, read_amount
from fieldvoice.quantity.convert import to_si
from fieldvoice.quantity.errors import ReadingError
from fieldvoice.quantity.facts import Fact, called, facts
from fieldvoice.quantity.units import SHARED_WORDS, say
from fieldvoice.trade.charge import tube
from fieldvoice.trade.errors import TradeError
from fieldvoice.trade.refrigerant import refrigerants

LONGEST = 60  # characters of a name or number
_KIND = {"pressure": "gauge pressure"}  # the kind that a shared word goes by, if no dimension


class FactError(FieldvoiceError, ValueError):
    """A fact that cannot be; the message is the reply, `spoken` where it is a list too long."""

    def __init__(self, message: str, spoken: str | None = None) -> None:
        super().__init__(message)
        self.spoken = spoken

    @classmethod
    def because(cls, error: FieldvoiceError) -> FactError:
        """What another part found, as a sentence of a reply."""
        text = f"{error.what}: {error.advice}" if isinstance(error, ProcedureError) else str(error)
        return cls(f"{text[0].upper()}{text[1:]}.")


def settled(procedure: Procedure, name: str, text: str) -> str:
    """The value of a fact, an answer or a limit of the procedure as JobStarted.site keeps it.

    Raises FactError for a name that neither the table nor the procedure has, and for a value that
    cannot be read, with what can be given instead.
    """
    known = facts().get(name)
    if len(text) > LONGEST:
        raise FactError(f"{called(name[:LONGEST]).capitalize()}: give it in 1 to {LONGEST} "
                        "characters.")
    if known is not None:
        return _SETTLE[known.kind](known, text, procedure)
    step = procedure.by_name.get(name)
    if step is not None and step.choices:
        return _one_of(name.replace("-", " "), text, {w.name: () for w in step.choices})
    if name in procedure.limits:
        try:
            procedure.with_site({name: text})
        except ProcedureError as error:
            raise FactError.because(error) from None
        return text
    raise FactError(f"No fact is called {name!r}.{_meant(name, procedure)}")


def _meant(name: str, procedure: Procedure) -> str:
    known = [*facts(), *procedure.limits, *(s.name for s in procedure.steps if s.choices)]
    close = get_close_matches(name.lower().replace(" ", "-"), known, 1)
    return f" Did you mean {close[0]}?" if close else ""


def _refrigerant(_fact: Fact, text: str, _procedure: Procedure) -> str:
    try:
        return refrigerants.refrigerant(text).name
    except TradeError:
        raise FactError(
            f"I do not know refrigerant {text!r}. I know {', '.join(refrigerants.names())}.",
            f"I do not know {text}. Say the refrigerant again, or skip.") from None


def _tube(fact: Fact, text: str, _procedure: Procedure) -> str:
    try:
        return tube.tube(text.lower().replace("inches", "in").replace("inch", "in")).nominal
    except TradeError:
        raise FactError(f"{text!r} is no {fact.called}. Give one of "
                        f"{', '.join(tube.sizes())}.") from None


def _criterion(_fact: Fact, text: str, procedure: Procedure) -> str:
    documents = {c.name: (c.document,) for c in procedure.criteria.values()}
    if not documents:
        raise FactError("This procedure has no criterion to choose.")
    return _one_of("criterion", text, documents)


def _choice(fact: Fact, text: str, _procedure: Procedure) -> str:
    return _one_of(fact.called, text, fact.choices)


def _one_of(what: str, text: str, choices: Mapping[str, tuple[str, ...]]) -> str:
    """The name of a choice by its name, its words or other words for it."""
    wanted = "-".join(text.lower().split())
    for name, others in choices.items():
        if wanted in (name.lower(), *("-".join(other.lower().split()) for other in others)):
            return name
    close = get_close_matches(wanted, choices, 1)
    meant = f" Did you mean {close[0]}?" if close else ""
    raise FactError(f"{text!r} is no {what}.{meant} Give one of {', '.join(choices)}.")


def _amount(fact: Fact, text: str, _procedure: Procedure) -> str:
    try:
        found = read_amount(fact.called, _in_full(fact, text), fact.dimension,
                            default_unit=fact.unit)
        si = to_si(found.value, found.unit)
    except ReadingError as error:
        raise FactError.because(error) from None
    if fact.dimension == "pressure" and found.unit.zero != "true":
        raise FactError("A barometer shows an absolute pressure: give it as 29.92 inHg.")
    low, high = (to_si(Decimal(str(end)), fact.unit) if fact.dimension != "mass per length"
                 else amount_si("", f"{end} {fact.unit}", fact.dimension)
                 for end in (fact.low, fact.high))
    if not low <= si <= high:
        raise FactError(f"{fact.called.capitalize()} {say(found.value, found.unit.name)}: "
                        f"I take {fact.low:,g} to {say(Decimal(str(fact.high)), fact.unit)}.")
    return f"{found.value:f} {found.unit.name}"


def _in_full(fact: Fact, text: str) -> str:
    """A word that several units answer to in the one that the dimension decides: pounds of mass.

    Degrees, and the inches of a barometer, are what a number alone is in.
    """
    number, _, word = text.strip().partition(" ")
    kind = _KIND.get(fact.dimension, fact.dimension)
    unit = SHARED_WORDS.get(word.strip().lower(), {}).get(kind)
    if unit in ("site", "inHg-vacuum"):
        return number
    return text if unit is None else f"{number} {unit}"


def _text(fact: Fact, text: str, _procedure: Procedure) -> str:
    words = " ".join(text.split())
    if not words or not words.isprintable():
        raise FactError(f"{fact.called.capitalize()}: give it in letters and figures.")
    return words


_SETTLE: Mapping[str, Callable[[Fact, str, Procedure], str]] = {
    "refrigerant": _refrigerant, "tube": _tube, "criterion": _criterion, "amount": _amount,
    "choice": _choice, "text": _text,
}
