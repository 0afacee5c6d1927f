"""The page of what can be said holds every intent, and its examples mean what they stand for."""

import pytest

from fieldvoice.language.decoding_graph import compile_acceptor
from fieldvoice.language.grammar import grammar
from fieldvoice.language.parser import understand
from fieldvoice.language.phrase_guide import examples, page, sections

RULES = [rule for rules in sections().values() for rule in rules]
ACCEPTOR = compile_acceptor()


@pytest.mark.parametrize("rule", RULES)
def test_every_example_means_its_rule_and_can_be_heard(rule):
    assert examples(rule)
    for example in examples(rule):
        assert understand(example, typed=False).name() == rule.replace("_", "-"), example
        assert ACCEPTOR.cost(example.replace("-", " ").split()) is not None, example


def test_every_intent_that_can_be_said_is_on_the_page():
    wanted = [rule for rule in grammar().starts if not rule.startswith(("asked_", "typed_"))]
    assert sorted(RULES) == sorted(wanted)


def test_the_page_fits_a_page():
    assert len(page().splitlines()) <= 80
    assert page().startswith("## Readings")


def test_a_page_of_some_rules_holds_only_these():
    text = page(["start-hold", "next"])
    assert "hold for ten minutes" in text
    assert "readings" not in text.lower()
