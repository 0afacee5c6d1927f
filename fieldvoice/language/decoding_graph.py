"""The spoken part of the grammar as a weighted word acceptor: all that the recognizer can hear.

Every sentence of the acceptor parses, and every sentence of the spoken rules is in it. The cost of
an arc is -ln of its chance; the chances of all ways out of a state and of ending there add to 1.
"""

from __future__ import annotations

import math
import random
from dataclasses import dataclass
from functools import cache, cached_property

from lark.grammar import Rule, Symbol

from fieldvoice.language.automaton import END, START, Network, determinize, minimize, weigh
from fieldvoice.language.grammar import ROOT, Grammar, grammar
from fieldvoice.language.word_frequency import how_often

MANY = 12  # a state with more ways on is inside a number or a list


@dataclass(frozen=True)
class Acceptor:
    """A deterministic, minimal word acceptor without loops."""

    start: int
    finals: dict[int, float]  # state -> cost of ending there
    arcs: tuple[tuple[int, str, float, int], ...]  # source, word, cost (-ln chance), target

    @cached_property
    def following(self) -> dict[int, dict[str, tuple[float, int]]]:
        """State -> word -> (cost, target)."""
        found: dict[int, dict[str, tuple[float, int]]] = {}
        for source, word, cost, target in self.arcs:
            found.setdefault(source, {})[word] = (cost, target)
        return found

    @property
    def states(self) -> int:
        """How many states it has."""
        return len(self.following.keys() | self.finals.keys())

    def cost(self, sentence: list[str]) -> float | None:
        """-ln of the chance of a sentence; None when it is not in the acceptor."""
        state, total = self.start, 0.0
        for word in sentence:
            if word not in self.following.get(state, {}):
                return None
            cost, state = self.following[state][word]
            total += cost
        return total + self.finals[state] if state in self.finals else None


def compile_acceptor(language: Grammar | None = None, root: str = ROOT) -> Acceptor:
    """Compile the spoken sentences of a grammar (the shipped one by default), from one rule on."""
    return _Compiler(language or grammar()).acceptor(root)


class _Compiler:
    """Compiles rules from the smallest up, each once, so that a rule used often stays small."""

    def __init__(self, language: Grammar) -> None:
        self.language = language
        self._spoken: dict[str, list[tuple[Rule, float]]] = {}
        self._acceptors: dict[str, Acceptor] = {}

    def acceptor(self, rule: str) -> Acceptor:
        """The smallest acceptor of what can be said for a rule."""
        if rule not in self._acceptors:
            network = Network()
            for alternative, chance in self.spoken(rule):
                self._lay(network, alternative, chance)
            self._acceptors[rule] = _smallest(network)
        return self._acceptors[rule]

    def _lay(self, network: Network, alternative: Rule, chance: float) -> None:
        """Lay one alternative between start and end."""
        here = network.new()
        network.link(START, None, chance, here)
        for symbol in alternative.expansion:
            there = network.new()
            if symbol.is_term:
                words = self.language.words_of[symbol.name]
                total = sum(map(how_often, words))
                for word in words:
                    network.link(here, word, how_often(word) / total, there)
            else:
                _insert(network, self.acceptor(symbol.name), here, there)
            here = there
        network.link(here, None, 1.0, END)

    def spoken(self, rule: str) -> list[tuple[Rule, float]]:
        """The alternatives that can be said, with chances that add to 1."""
        if rule not in self._spoken:
            found = [
                (r, self._weight(r)) for r in self.language.rules[rule] if self._can_be_said(r)
            ]
            total = sum(weight for _, weight in found)
            self._spoken[rule] = [(r, weight / total) for r, weight in found]
        return self._spoken[rule]

    def _can_be_said(self, alternative: Rule) -> bool:
        if self.language.is_typed_only(alternative):
            return False
        return all(s.is_term or self.spoken(s.name) for s in alternative.expansion)

    def _weight(self, alternative: Rule) -> float:
        """How often an alternative is said beside the others of its rule.

        One rule alone: the number after its name (1 if there is none); one list of words alone: how
        many they are; in each case more for words that are said often.
        """
        first, *more = alternative.expansion
        lists = [words for symbol in alternative.expansion if (words := self._words(symbol))]
        weight = math.prod(sum(map(how_often, words)) / len(words) for words in lists)
        if more:
            return weight
        if first.is_term:
            return weight * len(lists[0])
        return self.language.rules[first.name][0].options.priority or 1.0

    def _words(self, symbol: Symbol) -> list[str]:
        """The words of a list, or of a rule for which nothing but single words can be said."""
        if symbol.is_term:
            return list(self.language.words_of[symbol.name])
        ways = [rule.expansion for rule, _ in self.spoken(symbol.name)]
        if any(len(way) > 1 or not way[0].is_term for way in ways):
            return []
        return [word for (only,) in ways for word in self.language.words_of[only.name]]


def _insert(network: Network, inner: Acceptor, source: int, target: int) -> None:
    """Copy an acceptor in between two states."""
    copy = {inner.start: source}
    for state in range(1, inner.states):
        copy[state] = network.new()
    for here, word, cost, there in inner.arcs:
        network.link(copy[here], word, math.exp(-cost), copy[there])
    for state, cost in inner.finals.items():
        network.link(copy[state], None, math.exp(-cost), target)


def _smallest(network: Network) -> Acceptor:
    shapes = minimize(determinize(network))
    costs, finals = weigh(network, shapes)
    arcs = tuple(
        (source, word, costs[source][word], target)
        for source, (words, _) in enumerate(shapes)
        for word, target in words.items()
    )
    return Acceptor(0, finals, arcs)


def spoken_alternatives(rule: str) -> list[Rule]:
    """The alternatives of a rule that can be said, not only typed."""
    return [alternative for alternative, _ in _Compiler(grammar()).spoken(rule)]


@cache
def _shipped() -> Acceptor:
    return compile_acceptor()


def words() -> list[str]:
    """Every word that can be said, sorted."""
    return sorted({word for _, word, _, _ in _shipped().arcs})


def random_sentence(rng: random.Random, sharpness: float = 1.0) -> list[str]:
    """A sentence as the weights say; a `sharpness` below 1 brings seldom words more often."""
    acceptor, found = _shipped(), list[str]()
    state = acceptor.start
    while True:
        ways = acceptor.following.get(state, {})
        ends = state in acceptor.finals
        end = math.exp(-sharpness * acceptor.finals[state]) if ends else 0.0
        chances = [math.exp(-sharpness * cost) for cost, _ in ways.values()]
        drawn = rng.choices([*ways, None], [*chances, end])[0]
        if drawn is None:
            return found
        found.append(drawn)
        state = ways[drawn][1]


def phrases() -> list[str]:
    """Phrases for a foreign model, which takes a list and strings its phrases together by itself.

    Every whole sentence without a number or a choice of many, and every word by itself.
    """
    return sorted({" ".join(sentence) for sentence in _short_sentences(3)} | set(words()))


def _short_sentences(longest: int) -> list[tuple[str, ...]]:
    """The sentences of few words that open with a word after which little can follow."""
    acceptor, found = _shipped(), list[tuple[str, ...]]()
    begun: list[tuple[int, tuple[str, ...]]] = [(acceptor.start, ())]
    while begun:
        state, sentence = begun.pop()
        if state in acceptor.finals and sentence:
            found.append(sentence)
        ways = acceptor.following.get(state, {})
        if len(sentence) < longest and (not sentence or len(ways) < MANY):
            begun += [(target, (*sentence, word)) for word, (_, target) in ways.items()]
    return found
