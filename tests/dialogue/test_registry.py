"""Every intent is in the one table with all that belongs to it, and no part of it is missing."""

from __future__ import annotations

import dataclasses

import pytest

from fieldvoice.dialogue.registry import REGISTRY, Registered, registered
from fieldvoice.jobstate import events as e
from fieldvoice.language import intents as i
from fieldvoice.language.grammar import grammar
from fieldvoice.language.meaning import PLAIN, Meaning
from fieldvoice.language.parser import understand
from fieldvoice.language.phrase_guide import examples, purpose, sections
from support.bench import Bench
from support.every_sort import TEXT, at

TYPED_ONLY = {i.Note: "typed_note"}  # has a rule of its own and no example to be said
NO_RULE = {i.NotUnderstood}
BY_NAME = pytest.mark.parametrize("entry", REGISTRY, ids=lambda entry: entry.intent.name())
# What only reads may still open a note, change the voice or answer with a computed result.
HARMLESS_EVENTS = (e.LineHeard, e.Said, e.NoteOpened, e.VoiceChanged, e.VerdictGiven)


def test_every_intent_is_registered_once() -> None:
    assert sorted(entry.intent.name() for entry in REGISTRY) == sorted(
        cls.name() for cls in i.Intent.__subclasses__()
    )


@BY_NAME
def test_its_rule_is_a_whole_line_of_the_grammar(entry: Registered) -> None:
    if entry.intent not in NO_RULE:
        assert TYPED_ONLY.get(entry.intent, entry.intent.rule()) in grammar().starts


@BY_NAME
def test_its_meaning_is_worked_out_from_what_it_carries(entry: Registered) -> None:
    rule = TYPED_ONLY.get(entry.intent, entry.intent.rule())
    worked_out = rule in vars(Meaning) or entry.intent in (*NO_RULE, *TYPED_ONLY)
    assert worked_out is not (entry.intent.rule() in PLAIN)


@BY_NAME
def test_help_has_a_place_a_purpose_and_examples_for_it(entry: Registered) -> None:
    if entry.intent in (*NO_RULE, *TYPED_ONLY):
        return
    rule = entry.intent.rule()
    assert [rule in rules for rules in sections().values()].count(True) == 1
    assert purpose(rule).endswith(".")
    assert {type(understand(example)) for example in examples(rule)} == {entry.intent}


def test_every_rule_of_a_whole_line_leads_to_an_intent() -> None:
    rules = {TYPED_ONLY.get(entry.intent, entry.intent.rule()) for entry in REGISTRY}
    asked = {rule for rule in grammar().starts if rule.startswith("asked_")}
    assert set(grammar().starts) == (rules - {cls.rule() for cls in NO_RULE}) | asked


@BY_NAME
def test_what_only_reads_changes_nothing(entry: Registered) -> None:
    if not entry.only_reads:
        return
    bench = at(Bench(TEXT), "pull")
    bench.read(900, "microns")
    before, logged = bench.state, len(bench.log)
    intent = entry.intent if dataclasses.fields(entry.intent) else None
    bench.say(entry.intent("louder") if intent is i.ChangeVoice else entry.intent())
    assert all(isinstance(entry.event, HARMLESS_EVENTS) for entry in bench.log[logged:])
    assert (bench.state.step, bench.state.readings) == (before.step, before.readings)


@BY_NAME
def test_only_what_makes_sense_after_the_end_is_done_then(entry: Registered) -> None:
    bench = at(Bench(TEXT), "stand")
    bench.say(i.Skip("no time"))
    bench.say(i.Yes())
    at(bench, "finish-up")
    bench.say(i.Next())
    assert bench.state.finished
    said = bench.say(_any_of(entry.intent))
    assert ("This job is finished." in said) is not entry.after_end


def _any_of(intent: type[i.Intent]) -> i.Intent:
    """One intent of the class, as a line of its own gives it."""
    if intent is i.NotUnderstood:
        return i.NotUnderstood("What?")
    if intent is i.Note:
        return i.Note("a dent")
    return understand(examples(intent.rule())[0])


@BY_NAME
def test_what_is_not_heard_for_sure_is_asked_back_unless_it_only_reads(entry: Registered) -> None:
    if entry.intent in (i.NotUnderstood, i.EndNote):  # nothing to confirm; no note is open
        return
    bench = at(Bench(TEXT), "pull")
    bench.read(900, "microns")
    bench.read(110, "psig", "suction-pressure")
    bench.say(_any_of(entry.intent), confidence=0.7, words="mumbled")
    assert (bench.state.question is not None) is not entry.only_reads


def test_an_intent_that_is_missing_is_a_fault_and_no_silence() -> None:
    with pytest.raises(KeyError):
        registered(i.Intent())
