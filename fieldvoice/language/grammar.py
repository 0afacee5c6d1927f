"""The Lark files as one grammar: rules, word lists, and the cutting of a line into tokens."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from hashlib import sha256
from importlib.resources import files
from threading import Lock
from typing import Any

import lark
from lark import Lark, Token, UnexpectedCharacters
from lark.exceptions import LarkError
from lark.grammar import Rule, Terminal
from lark.lexer import PatternStr
from lark.load_grammar import find_grammar_errors

from fieldvoice.errors import FieldvoiceError

FILES = (
    "commands", "facts", "totals", "options", "stages", "quantities", "units", "numbers", "typed",
)
ROOT = "start"
_BUILDING = Lock()
_given: list[Grammar] = []


class GrammarError(FieldvoiceError, ValueError):
    """The Lark files contradict themselves; the message names the word or rule and what to do."""


class UnknownWord(FieldvoiceError, ValueError):
    """A line has a piece that no rule uses; `.piece` is it."""

    def __init__(self, piece: str) -> None:
        super().__init__(piece)
        self.piece = piece


def read(name: str) -> str:
    """The text of grammar/NAME.lark."""
    return (files("fieldvoice.grammar") / f"{name}.lark").read_text("utf-8")


def fingerprint() -> str:
    """Of all that the shipped grammar comes from: its files, the compiler, the form of its text."""
    parts = ("1", lark.__version__, *map(read, FILES))
    return sha256("\0".join(parts).encode("utf-8")).hexdigest()


@dataclass(frozen=True)
class Grammar:
    """The compiled grammar."""

    terminal_of: dict[str, str]  # word or sign -> name of its terminal
    words_of: dict[str, tuple[str, ...]]  # terminal -> its words; typed pieces have none
    ignored: frozenset[str]  # terminals that are dropped
    rules: dict[str, tuple[Rule, ...]]  # rule name -> its alternatives, in order
    starts: tuple[str, ...]  # what a whole line can be, in the order of the root rule

    def to_text(self) -> str:
        """The grammar as JSON: reading it takes an eighth of the time that compiling takes."""
        rules = {str(name): [rule.serialize() for rule in found]
                 for name, found in self.rules.items()}  # fmt: skip
        return json.dumps([self.terminal_of, self.words_of, sorted(self.ignored), rules,
                           self.starts])  # fmt: skip

    @classmethod
    def from_text(cls, text: str) -> Grammar:
        """What `to_text` gave; raises ValueError for a text that holds no grammar."""
        try:
            terminal_of, words_of, ignored, rules, starts = json.loads(text)
            return cls(
                dict(terminal_of), {name: tuple(words) for name, words in words_of.items()},
                frozenset(ignored),
                {name: tuple(Rule.deserialize(rule, {}) for rule in found)
                 for name, found in rules.items()}, tuple(starts),
            )  # fmt: skip
        except (KeyError, TypeError, AttributeError, RecursionError) as error:
            raise ValueError(f"no compiled grammar: {error!r}") from None

    def is_typed_only(self, rule: Rule) -> bool:
        """Whether an alternative can only come from keys."""
        return any(
            s.name not in self.words_of if isinstance(s, Terminal) else s.name.startswith("typed_")
            for s in rule.expansion
        )

    def tokens(self, line: str, *, typed: bool) -> list[Token]:
        """Cut a line into tokens; raises UnknownWord. A heard line is words and nothing else."""
        found = []
        try:
            for piece in self._uncontracted(line) if typed else _words_heard(line):
                token = self._token(piece)
                if token.type not in self.ignored:
                    found.append(token)
        except UnexpectedCharacters as error:
            raise UnknownWord(error.char) from None
        return found

    def _uncontracted(self, line: str) -> Iterator[Token]:
        """The pieces of a typed line; "its" is it's, and an unknown word's is that word and is."""
        for piece in _spelling().lex(line):
            if piece.type != "WORD" or piece.lower() in self.terminal_of:
                yield piece
                continue
            word = piece.lower()
            marked = next((w for w in (f"{word[:-1]}'{word[-1:]}", f"{word[:-2]}'{word[-2:]}")
                           if w in self.terminal_of), word)  # fmt: skip
            bare = word.removesuffix("'s")
            yield Token("WORD", marked if bare == word else bare)
            if bare != word:
                yield Token("WORD", "is")

    def _token(self, piece: Token) -> Token:
        if piece.type not in ("WORD", "SIGN", "CUBIC"):
            return piece
        word = piece.lower()
        if word not in self.terminal_of:
            raise UnknownWord(str(piece))
        return Token(self.terminal_of[word], word)


def _words_heard(line: str) -> list[Token]:
    return [Token("WORD", word) for word in line.replace("-", " ").split()]


@cache
def _spelling() -> Lark:
    return Lark(read("spelling"), parser="lalr", lexer="basic")


def grammar() -> Grammar:
    """The shipped grammar, built once, whichever threads ask for it. Its files are joined to one
    text, so names are shared.
    """
    with _BUILDING:
        return _given[0] if _given else _shipped()


def give(found: Grammar) -> None:
    """Use a grammar that was built from the shipped files before, instead of building it."""
    with _BUILDING:
        _given[:] = [found]


@cache
def _shipped() -> Grammar:
    texts = {name: read(name) for name in FILES}
    try:
        return build("\n".join(texts.values()))
    except GrammarError as error:
        places = [place for name, text in texts.items() for place in misspelled(name, text)]
        raise GrammarError("; ".join(places) or str(error)) from error


def misspelled(name: str, text: str) -> list[str]:
    """Where a Lark file cannot be read: file, line, column and what Lark makes of it."""
    return [
        f"grammar/{name}.lark, line {error.line}, column {error.column}: {reason}"
        for error, reason in find_grammar_errors(text)
    ]


def build(text: str) -> Grammar:
    """Compile grammar text; raises GrammarError."""
    try:
        compiled = Lark(text, parser=None, lexer="basic", start=ROOT)
    except LarkError as error:
        raise GrammarError(f"the grammar files do not load: {error}") from error
    terminal_of, words_of = _word_lists(compiled)
    rules: dict[str, list[Rule]] = {}
    for rule in compiled.rules:
        rules.setdefault(rule.origin.name, []).append(rule)
    _refuse_empty(rules)
    starts = tuple(alternative.expansion[0].name for alternative in rules[ROOT])
    refuse_recursion(rules)
    return Grammar(
        terminal_of,
        words_of,
        frozenset(compiled.ignore_tokens),
        {name: tuple(found) for name, found in rules.items()},
        starts,
    )


def _refuse_empty(rules: Mapping[str, Sequence[Rule]]) -> None:
    for name, alternatives in rules.items():
        if any(not alternative.expansion for alternative in alternatives):
            raise GrammarError(
                f"rule {name} can be empty: leave the ? away there,"
                f" and write it where {name} is used"
            )


def refuse_recursion(rules: Mapping[str, Sequence[Rule]]) -> None:
    """Raise GrammarError for a rule that can contain itself, naming the way round."""
    finished: set[str] = set()

    def visit(name: str, path: tuple[str, ...]) -> None:
        if name in path:
            way = " -> ".join((*path[path.index(name) :], name))
            raise GrammarError(
                f"rule {name} contains itself ({way}): nothing said may be endless;"
                " write each length out, and use no * or +"
            )
        if name in finished:
            return
        for alternative in rules.get(name, ()):
            for symbol in alternative.expansion:
                if not symbol.is_term:
                    visit(symbol.name, (*path, name))
        finished.add(name)

    visit(ROOT, ())


def _word_lists(compiled: Lark) -> tuple[dict[str, str], dict[str, tuple[str, ...]]]:
    """Which terminal a word belongs to; a word in two lists would be understood at random."""
    terminal_of: dict[str, str] = {}
    words_of: dict[str, tuple[str, ...]] = {}
    for terminal in compiled.terminals:
        words_of[terminal.name] = _words(terminal.pattern)
        for word in words_of[terminal.name]:
            if " " in word:
                raise GrammarError(f'"{word}" is more than one word: quote each word by itself')
            if word in terminal_of:
                raise GrammarError(
                    f'"{word}" is in the lists {terminal_of[word]} and {terminal.name}:'
                    " keep it in one list and use that list's name"
                )
            terminal_of[word] = terminal.name
    return terminal_of, words_of


def _words(pattern: Any) -> tuple[str, ...]:
    """The words of a terminal: one string, or a list of strings, which Lark joins with bars."""
    if isinstance(pattern, PatternStr):
        return (pattern.value,)
    words = tuple(pattern.value.removeprefix("(?:").removesuffix(")").split("|"))
    if not all(word.replace("'", "").isalpha() for word in words):
        raise GrammarError(
            f"/{pattern.value}/ is no list of words: quote each word,"
            " or cut the piece out in spelling.lark and declare it in typed.lark"
        )
    return words
