"""The acceptor holds what can be said and no more: the sentences of the rules, which all parse."""

import math
import random
from collections import Counter
from decimal import Decimal
from functools import cache

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lark import Lark, Token
from lark.exceptions import LarkError
from lark.lexer import Lexer

from fieldvoice.language import decoding_graph, word_frequency
from fieldvoice.language.automaton import END, START, Network, determinize, minimize, weigh
from fieldvoice.language.chart_parser import Chart, Openings
from fieldvoice.language.grammar import FILES, GrammarError, build, grammar, misspelled, read
from fieldvoice.language.intents import NotUnderstood, Reading
from fieldvoice.language.meaning import Meaning
from fieldvoice.language.parser import understand
from fieldvoice.language.speech_text import say_number
from support.phrase_tables import judged, rows
from support.shipped_acceptor import shipped_acceptor

ACCEPTOR = shipped_acceptor()
# The answers to sentences that are heard on purpose in order to be asked back.
DELIBERATE = {
    "taught", "taught-carry-on", "two-ways", "range", "about", "which", "half", "okay", "clock",
}  # fmt: skip


def any_sentence(rng):
    """A walk that takes every arc of a state equally often, so that rare corners are met."""
    words, state = [], ACCEPTOR.start
    while True:
        ways = ACCEPTOR.following.get(state, {})
        if state in ACCEPTOR.finals and (not ways or rng.random() < 0.3):
            return words
        word = rng.choice(sorted(ways))
        words.append(word)
        state = ways[word][1]


def sentence_of_rules(rng, rule="start"):
    """A sentence drawn from the rules themselves, without any automaton."""
    language = grammar()

    def can_be_said(alternative):
        return not language.is_typed_only(alternative) and all(
            symbol.is_term or any(can_be_said(a) for a in language.rules[symbol.name])
            for symbol in alternative.expansion
        )

    words = []
    for symbol in rng.choice([a for a in language.rules[rule] if can_be_said(a)]).expansion:
        if symbol.is_term:
            words.append(rng.choice(language.words_of[symbol.name]))
        else:
            words += sentence_of_rules(rng, symbol.name)
    return words


def is_one_intent_or_meant_question(intent):
    if not isinstance(intent, NotUnderstood):
        return True
    return (
        intent.kind in DELIBERATE
        and "two things" not in intent.reason
        and "only half" not in intent.reason
    )


@pytest.mark.parametrize(
    "draw", [any_sentence, decoding_graph.random_sentence], ids=["corners", "likely"]
)
def test_every_sentence_of_the_acceptor_is_one_intent_or_a_question_that_is_meant(draw):
    rng = random.Random(20)
    sentences = [" ".join(draw(rng)) for _ in range(3000)]
    wrong = [
        s for s in sentences if not is_one_intent_or_meant_question(understand(s, typed=False))
    ]
    assert not wrong


def test_every_sentence_of_the_spoken_rules_is_in_the_acceptor():
    rng = random.Random(21)
    sentences = [sentence_of_rules(rng) for _ in range(1500)]
    assert [" ".join(s) for s in sentences if ACCEPTOR.cost(s) is None] == []


@pytest.mark.parametrize(
    "table", ["readings", "several", "repair", "steps", "timers", "asking", "units"])
def test_every_spoken_phrase_of_the_tables_can_be_heard(table):
    phrases = [row["phrase"].replace("-", " ") for row in rows(table)]
    assert [phrase for phrase in phrases if ACCEPTOR.cost(phrase.split()) is None] == []


OWN_WORDINGS = ("on_the_job", "said_readings", "said_several", "said_repair", "said_steps",
                "said_timers", "said_asking")  # fmt: skip


def test_nearly_all_wordings_that_are_understood_can_be_heard_too():
    understood = [
        row["phrase"].replace("-", " ").replace(",", "")
        for table in OWN_WORDINGS
        for row in rows(table)
        if judged(row, understand(row["phrase"])) == "right"
    ]
    heard = [phrase for phrase in understood if ACCEPTOR.cost(phrase.split()) is not None]
    assert len(heard) >= 0.93 * len(understood)


SPOKEN_RULES = [r for r in grammar().starts if not r.startswith(("asked_", "typed_"))]


@pytest.mark.parametrize("rule", SPOKEN_RULES)
def test_every_intent_that_can_be_spoken_can_be_heard(rule):
    rng = random.Random(23)
    drawn = [sentence_of_rules(rng, rule) for _ in range(20)]
    assert all(ACCEPTOR.cost(words) is not None for words in drawn)
    names = {understand(" ".join(words), typed=False).name() for words in drawn}
    assert rule.replace("_", "-") in names


@pytest.mark.parametrize("number", [*range(0, 1100), *range(1100, 100_000, 311)][::7])
def test_numbers_to_99_999_can_be_heard(number):
    for words in (say_number(Decimal(number)), say_number(Decimal(number)) + " point five"):
        assert ACCEPTOR.cost([*words.split(), "microns"]) is not None


@pytest.mark.parametrize(
    "words",
    ["four hundred hundred", "twenty eleven twenty", "four point", "minus", "and five", "thousand",
     "four hundred and", "suction", "eighty hundred ninety four oh", "one eighteen two forty", "a"],
)  # fmt: skip
def test_what_nobody_means_cannot_be_heard(words):
    assert ACCEPTOR.cost(words.split()) is None


def test_only_numbers_that_parse_are_in_the_number_part():
    numbers = decoding_graph.compile_acceptor(root="number")
    words = sorted({word for _, word, _, _ in numbers.arcs})
    rng = random.Random(23)
    chart = Openings(grammar(), Meaning())
    for _ in range(4000):
        line = [rng.choice(words) for _ in range(rng.randint(1, 4))]
        tokens = [Token(grammar().terminal_of[word], word) for word in line]
        assert (numbers.cost(line) is not None) == bool(Chart(chart, tokens).meanings("number")), (
            line
        )


def test_the_chances_out_of_every_state_add_to_one():
    total = Counter()
    for source, _, cost, _ in ACCEPTOR.arcs:
        total[source] += math.exp(-cost)
    for state, cost in ACCEPTOR.finals.items():
        total[state] += math.exp(-cost)
    assert all(math.isclose(chance, 1, rel_tol=1e-9) for chance in total.values())


def test_the_acceptor_is_deterministic_and_every_state_lies_on_a_way_to_an_end():
    assert len({(source, word) for source, word, _, _ in ACCEPTOR.arcs}) == len(ACCEPTOR.arcs)
    alive, before = set(ACCEPTOR.finals), -1
    while before != len(alive):
        before = len(alive)
        alive |= {source for source, _, _, target in ACCEPTOR.arcs if target in alive}
    reached = {ACCEPTOR.start} | {target for _, _, _, target in ACCEPTOR.arcs}
    assert alive == reached


# Words of the grammar that the CMU Pronouncing Dictionary gives a pronunciation in common.
ALIKE = [{"two", "to"}, {"four", "for"}, {"hour", "our"}, {"our", "are"}, {"or", "are"}]


def sounding_like(word):
    return {word}.union(*(words for words in ALIKE if word in words))


def pairs_that_sound_alike():
    """For each place where two words that sound alike can stand: two whole sentences, or none."""
    following = ACCEPTOR.following

    @cache
    def endings(one, other):
        if one in ACCEPTOR.finals and other in ACCEPTOR.finals:
            return (), ()
        for word, (_, after) in following.get(one, {}).items():
            for twin in sounding_like(word) & following.get(other, {}).keys():
                if found := endings(after, following[other][twin][1]):
                    return (word, *found[0]), (twin, *found[1])
        return None

    ways_to = {ACCEPTOR.start: ()}
    queue = [ACCEPTOR.start]
    for state in queue:
        for word, (_, after) in following.get(state, {}).items():
            if after not in ways_to:
                ways_to[after] = (*ways_to[state], word)
                queue.append(after)
            for twin in (sounding_like(word) - {word}) & following[state].keys():
                if found := endings(after, following[state][twin][1]):
                    yield (*ways_to[state], word, *found[0]), (*ways_to[state], twin, *found[1])


def test_sentences_that_sound_alike_mean_the_same_or_one_is_asked_back():
    pairs = [tuple(" ".join(words) for words in pair) for pair in pairs_that_sound_alike()]
    meant = [[understand(sentence, typed=False) for sentence in pair] for pair in pairs]
    assert pairs
    wrong = [
        pair
        for pair, (one, other) in zip(pairs, meant, strict=True)
        if one != other and not any(isinstance(intent, NotUnderstood) for intent in (one, other))
    ]
    assert not wrong


def test_most_of_what_is_drawn_are_readings():
    rng = random.Random(25)
    sentences = [" ".join(decoding_graph.random_sentence(rng)) for _ in range(600)]
    drawn = Counter(type(understand(sentence)) for sentence in sentences)
    assert drawn.most_common(1)[0][0] is Reading


def test_words_and_phrases_cover_the_acceptor():
    assert set(decoding_graph.words()) == {word for _, word, _, _ in ACCEPTOR.arcs}
    assert set(" ".join(decoding_graph.phrases()).split()) == set(decoding_graph.words())
    assert "take that back" in decoding_graph.phrases()


@pytest.mark.parametrize(
    ("text", "named"),
    [
        ('start: a\na: "x" a | "y"', "a -> a"),
        ('start: a\na: "x" b | "y"\nb: "z" a', "a -> b -> a"),
        ('start: a\na: "x"+', "contains itself"),
        ('start: a\na: "two words"', "more than one word"),
        ('start: a | b\na: ONE\nb: TWO\nONE: "x" | "y"\nTWO: "y" | "z"', '"y" is in the lists'),
        ("start: a\na: X\nX: /[0-9]+/", "no list of words"),
        ("start: a\na: missing", "missing"),
        ('start: a\na: "x', "do not load"),
        ('start: a\na: "x"?', "empty"),
    ],
)
def test_a_grammar_that_cannot_work_is_refused_with_the_place(text, named):
    with pytest.raises(GrammarError, match=named):
        build(text)


def test_a_file_that_cannot_be_read_is_named_with_its_line():
    places = misspelled("units", 'unit: "x"\n\nbar; "bar"\n')
    assert places
    assert places[0].startswith("grammar/units.lark, line 3, column 4")
    assert misspelled("units", read("units")) == []


def test_weights_come_from_the_number_after_a_rule_name():
    language = build('start: often | seldom\noften.3: "often"\nseldom: "seldom"')
    acceptor = decoding_graph.compile_acceptor(language)
    assert math.exp(-acceptor.cost(["often"])) == pytest.approx(0.75)
    assert acceptor.cost(["never"]) is None


@settings(max_examples=100, deadline=None)
@given(
    st.sets(
        st.lists(st.sampled_from("abc"), min_size=1, max_size=5).map(tuple), min_size=1, max_size=12
    )
)
def test_the_smallest_acceptor_holds_just_its_sentences_with_their_chances(sentences):
    network = Network()
    for sentence in sorted(sentences):
        here = START
        for place, word in enumerate(sentence):
            there = END if place + 1 == len(sentence) else network.new()
            network.link(here, word, 1 / len(sentences) if here == START else 1.0, there)
            here = there
    shapes = minimize(determinize(network))
    costs, finals = weigh(network, shapes)

    def accepted(state, begun):
        if shapes[state][1]:
            yield begun
        for word, target in shapes[state][0].items():
            yield from accepted(target, (*begun, word))

    assert set(accepted(0, ())) == sentences
    assert len({(tuple(sorted(words.items())), end) for words, end in shapes}) == len(shapes)
    out = sum(math.exp(-cost) for cost in costs[0].values()) + math.exp(-finals.get(0, math.inf))
    assert out == pytest.approx(1)


class _ReadyTokens(Lexer):
    __future_interface__ = True

    def __init__(self, lexer_conf):
        pass

    def lex(self, lexer_state, parser_state):
        yield from lexer_state.text


# Source: the Earley parser of the library lark, on the same rules.
def test_what_is_a_number_agrees_with_larks_own_earley_parser():
    text = "\n".join(read(name) for name in FILES)
    earley = Lark(text, parser="earley", lexer=_ReadyTokens, start="number")
    openings = Openings(grammar(), Meaning())
    rng = random.Random(24)
    pool = [word for _, word, _, _ in decoding_graph.compile_acceptor(root="number").arcs]
    for _ in range(150):
        words = [rng.choice(pool) for _ in range(rng.randint(1, 4))]
        tokens = [Token(grammar().terminal_of[word], word) for word in words]
        try:
            earley.parse(tokens)
            fits = True
        except LarkError:
            fits = False
        assert bool(Chart(openings, tokens).meanings("number")) == fits, words


def test_the_compiled_grammar_is_small():
    # 75,000 decode within 0.03 s of one core a second of sound (by_hand/budgets.py), 39,000 hardly
    # faster; the readings of one breath are a quarter of it
    assert len(ACCEPTOR.arcs) < 80_000


def test_a_list_of_words_weighs_as_many_as_its_words_are_and_seldom_words_weigh_less():
    language = build('start: LIST | one\none: "one"\nLIST: "two" | "four" | "degrees" | "degree"')
    acceptor = decoding_graph.compile_acceptor(language)
    times = {w: word_frequency.how_often(w) for w in ("two", "four", "degrees", "degree", "one")}
    assert times["degree"] < times["two"] < times["degrees"]
    for word, often in times.items():
        chance = math.exp(-acceptor.cost([word]))
        assert chance == pytest.approx(often / sum(times.values()))
