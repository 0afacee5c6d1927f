"""The table of facts is checked as it is read, and what it says can be said and given."""

from __future__ import annotations

import pytest

from fieldvoice.dialogue.facts.settle import settled
from fieldvoice.language.intents import Reading, TellFact
from fieldvoice.language.parser import understand
from fieldvoice.procedure.reader import parse, shipped
from fieldvoice.quantity.errors import ReadingError
from fieldvoice.quantity.facts import Fact, called, facts, read_facts
from fieldvoice.quantity.quantities import quantities
from fieldvoice.trade.refrigerant.refrigerants import names, refrigerant

WHOLE_JOB = {"altitude", "atmosphere", "temperature-unit", "ambient", "technician", "helper",
             "customer", "place", "shop", "criterion"}
SAID = {  # every refrigerant as a technician says it
    "R-410A": "r four ten a", "R-32": "r thirty two", "R-454B": "r four fifty four b",
    "R-22": "r twenty two", "R-134a": "r one thirty four a", "R-407C": "r four oh seven c",
    "R-404A": "r four oh four a", "R-448A": "r four forty eight a",
    "R-449A": "r four forty nine a", "R-513A": "r five thirteen a",
    "R-1234yf": "r twelve thirty four y f", "R-290": "r two ninety", "R-600a": "r six hundred a",
}
EVERY = parse(shipped("commission-split-system"))


def test_what_holds_for_the_whole_job_is_told_apart() -> None:
    assert {f.name for f in facts().values() if f.whole_job} == WHOLE_JOB


@pytest.mark.parametrize("fact", facts().values(), ids=lambda f: f.name)
def test_a_fact_can_be_given_as_its_example_and_told_as_it_is_said(fact: Fact) -> None:
    assert settled(EVERY, fact.name, fact.example)
    told = understand(fact.said)
    if isinstance(told, Reading):
        assert told.quantity == (fact.reading or fact.name)
    else:
        assert isinstance(told, TellFact)
        assert told.fact == fact.name
        assert not told.value or settled(EVERY, fact.name, told.value)
    assert not fact.reading or fact.reading in quantities()
    assert called(fact.name) == fact.called


@pytest.mark.parametrize("name", names())
@pytest.mark.parametrize("typed", [True, False])
def test_every_refrigerant_of_the_table_can_be_said(name: str, typed: bool) -> None:
    for line in (SAID[name], f"refrigerant is {SAID[name]}"):
        told = understand(line, typed=typed)
        assert isinstance(told, TellFact), told
        assert refrigerant(told.value).name == name
    typed_name = understand(name)
    assert isinstance(typed_name, TellFact)
    assert refrigerant(typed_name.value).name == name


@pytest.mark.parametrize(
    ("text", "named"),
    [
        ("[x]\nkind = 'colour'", "kind is 'colour'"),
        ("[x]\nkind = 'amount'\nrange = [5, 1]", "range is"),
        ("[x]\nkind = 'amount'\nrange = [1, 5]\ndimension = 'love'", "dimension and a unit"),
        ("[x]\nkind = 'choice'", "two choices"),
        ("[x]\nkind = 'text'\nsize = 3", "unknown field 'size'"),
        ("[x]\nkind = 'text'", "missing"),
        ("[x\n", "facts:"),
    ],
)
def test_a_fault_of_the_table_is_named(text: str, named: str) -> None:
    with pytest.raises(ReadingError, match=named):
        read_facts(text)
