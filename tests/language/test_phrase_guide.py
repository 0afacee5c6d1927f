"""The page of what can be said holds every intent, and its examples mean what they stand for."""

import pytest

from fieldvoice.language.grammar import grammar
from fieldvoice.language.parser import understand
from fieldvoice.language.phrase_guide import examples, page, sections
from support.shipped_acceptor import shipped_acceptor

RULES = [rule for rules in sections().values() for rule in rules]
ACCEPTOR = shipped_acceptor()


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
    lines = page().splitlines()
    assert len(lines) <= 105
    assert len(sections()) <= 12
    assert len(lines) == len(RULES) + 3 * len(sections()) - 1  # a line for each thing to say
    assert all(len(line) <= 200 for line in lines)
    assert max(len(rules) for rules in sections().values()) <= 11


def test_what_is_used_most_comes_first():
    assert list(sections())[:3] == ["readings", "steps", "holds and timers"]


def test_a_page_of_some_rules_holds_only_these():
    text = page(["start-hold", "next"])
    assert "hold for ten minutes" in text
    assert "readings" not in text.lower()
