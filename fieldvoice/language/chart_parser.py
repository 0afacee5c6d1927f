"""Every way in which the tokens of a line fit a rule of the grammar, and what each way means.

The rules never contain themselves, so plain descent ends. A rule at a place is tried once, and only
with the alternatives that can open with the word there: a spoken line takes well under 2 ms.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from lark import Token, Transformer, Tree
from lark.grammar import Rule
from lark.parse_tree_builder import ParseTreeBuilder

from fieldvoice.language.grammar import Grammar

Symbols = tuple[tuple[bool, str], ...]  # (is a terminal, name)
Builder = Callable[[list[Any]], Any]
Fit = tuple[int, Any]  # where a rule ends, and what it means there


@dataclass(frozen=True, eq=False)
class Openings:
    """The alternatives of each rule by what can open them, and what builds their meaning."""

    language: Grammar
    meaning: Transformer[Token, Any]

    @cached_property
    def table(self) -> dict[str, dict[str, list[tuple[Symbols, Builder]]]]:
        """Rule -> opening terminal -> alternatives."""
        rules = [rule for found in self.language.rules.values() for rule in found]
        builder: Any = ParseTreeBuilder  # lark leaves it without types
        builders: Mapping[Rule, Builder] = builder(rules, Tree).create_callback(self.meaning)
        table: dict[str, dict[str, list[tuple[Symbols, Builder]]]] = {}
        for rule in rules:
            symbols = tuple((symbol.is_term, symbol.name) for symbol in rule.expansion)
            by_opening = table.setdefault(rule.origin.name, {})
            for terminal in self._first(symbols[0]):
                by_opening.setdefault(terminal, []).append((symbols, builders[rule]))
        return table

    def _first(self, symbol: tuple[bool, str]) -> frozenset[str]:
        is_terminal, name = symbol
        if is_terminal:
            return frozenset([name])
        if name not in self._firsts:
            firsts = (self._first((s.is_term, s.name)) for s in self._first_symbols(name))
            self._firsts[name] = frozenset().union(*firsts)
        return self._firsts[name]

    def _first_symbols(self, name: str) -> list[Any]:
        return [rule.expansion[0] for rule in self.language.rules[name]]

    @cached_property
    def _firsts(self) -> dict[str, frozenset[str]]:
        return {}

    def token_meaning(self, token: Token) -> Any:
        """What a token alone means."""
        handler = getattr(self.meaning, token.type, self.meaning.__default_token__)
        return handler(token)


class Chart:
    """The fits of one line."""

    def __init__(self, openings: Openings, tokens: list[Token]) -> None:
        self._table = openings.table
        self._types = [token.type for token in tokens]
        self._values = [openings.token_meaning(token) for token in tokens]
        self._known: dict[tuple[str, int], list[Fit]] = {}
        self.awaited: set[tuple[str, str]] = set()  # rules begun, each with a symbol that goes on

    @property
    def ran_out(self) -> bool:
        """Whether the line is the beginning of a longer sentence."""
        return bool(self.awaited)

    def meanings(self, rule: str) -> set[Any]:
        """All that the whole line means as a rule."""
        end = len(self._types)
        return {meaning for stop, meaning in self._fits(rule, 0) if stop == end}

    def _fits(self, rule: str, at: int) -> list[Fit]:
        key = (rule, at)
        known = self._known.get(key)
        if known is None:
            found: dict[Fit, None] = {}  # a set that keeps its order
            for symbols, build in self._table[rule].get(self._types[at], ()):
                for end, parts in self._follow(rule, symbols, at):
                    found[end, build(list(parts))] = None
            known = self._known[key] = list(found)
        return known

    def _follow(self, rule: str, symbols: Symbols, at: int) -> list[tuple[int, tuple[Any, ...]]]:
        """Where the symbols can end, with the meanings of the parts on the way."""
        ways: list[tuple[int, tuple[Any, ...]]] = [(at, ())]
        for is_terminal, name in symbols:
            longer = []
            for here, parts in ways:
                if here == len(self._types):
                    self.awaited.add((rule, name))
                elif not is_terminal:
                    longer += [(end, (*parts, part)) for end, part in self._fits(name, here)]
                elif self._types[here] == name:
                    longer.append((here + 1, (*parts, self._values[here])))
            ways = longer
            if not ways:
                break
        return ways
