"""A spoken or typed line to one intent, or to the reason why not."""

from __future__ import annotations

from dataclasses import fields
from datetime import timedelta
from functools import cache

from lark import Token, Tree, UnexpectedEOF
from lark.exceptions import LarkError
from lark.visitors import CollapseAmbiguities

from fieldvoice.spoken import refusals
from fieldvoice.spoken.grammar import Grammar, UnknownWord, grammar
from fieldvoice.spoken.intents import Intent, NotUnderstood, Reading, Readings
from fieldvoice.spoken.meaning import Meaning

MAX_CHARACTERS = 300  # of a line that is not a note; the longest sentence has about 150
MAX_TOKENS = 40
_MEANING = Meaning()


def understand(line: str, *, typed: bool = True) -> Intent:
    """The intent of a line; NotUnderstood when there is none, or more than one.

    With typed=False digits, signs and abbreviations are refused, as the recognizer never gives them.
    """
    language = grammar()
    try:
        tokens = language.tokens(line if len(line) <= MAX_CHARACTERS else _short(line))
    except UnknownWord as error:
        return _unknown(error.piece)
    if not typed and any(token.type not in language.words_of for token in tokens):
        return _refused(refusals.UNKNOWN)
    if not tokens:
        return _refused(refusals.EMPTY)
    if len(tokens) > MAX_TOKENS or (len(line) > MAX_CHARACTERS and tokens[0].type not in FREE_TEXT):
        return _refused(refusals.TOO_LONG)
    return _intent_of(language, tokens)


FREE_TEXT = ("NOTE_LINE", "SKIP_LINE")


def _short(line: str) -> str:
    return line


def _intent_of(language: Grammar, tokens: list[Token]) -> Intent:
    half = False
    askbacks: set[Intent] = set()
    found: set[Intent] = set()
    for rule in _candidates(language, frozenset(token.type for token in tokens)):
        if rule.startswith("asked_") and found:
            break
        try:
            meanings = _meanings(language.parse(tokens, rule))
        except UnexpectedEOF:
            half = True
        except LarkError:
            continue
        else:
            (askbacks if rule.startswith("asked_") else found).update(meanings)
    return _decide(found or askbacks, half)


def _decide(found: set[Intent], half: bool) -> Intent:
    """One meaning counts; a single reading beats the same words cut into several."""
    single = [intent for intent in found if not isinstance(intent, Readings)]
    if len(single) == 1 and isinstance(single[0], Reading):
        return single[0]
    if len(found) == 1:
        (only,) = found
        return _checked(only)
    if found:
        return _refused(refusals.TWO_INTENTS)
    return _refused(refusals.HALF if half else refusals.UNKNOWN)


def _checked(intent: Intent) -> Intent:
    values = (getattr(intent, field.name) for field in fields(intent))  # type: ignore[arg-type]
    if any(isinstance(value, timedelta) and value <= timedelta() for value in values):
        return _refused(refusals.NO_TIME)
    return intent


def _meanings(tree: Tree[Token]) -> set[Intent]:
    """What a tree means in each of its readings."""
    if next(tree.find_data("_ambig"), None) is None:
        return {_MEANING.transform(tree)}
    return {_MEANING.transform(one) for one in CollapseAmbiguities().transform(tree)}


def _candidates(language: Grammar, terminals: frozenset[str]) -> list[str]:
    """The start rules that use every terminal of the line, in the grammar's order."""
    return [rule for rule in language.starts if terminals <= _vocabulary(rule)]


@cache
def _vocabulary(rule: str) -> frozenset[str]:
    """All terminals that a rule can reach."""
    found: set[str] = set()
    open_rules, seen = [rule], {rule}
    while open_rules:
        for alternative in grammar().rules[open_rules.pop()]:
            for symbol in alternative.expansion:
                if symbol.is_term:
                    found.add(symbol.name)
                elif symbol.name not in seen:
                    seen.add(symbol.name)
                    open_rules.append(symbol.name)
    return frozenset(found)


def _unknown(piece: str) -> NotUnderstood:
    if piece.isalpha() and piece.isascii() and len(piece) <= 20:
        kind, reason = refusals.UNKNOWN_WORD
        return NotUnderstood(reason.format(piece=piece.lower()), kind)
    return _refused(refusals.UNKNOWN)


def _refused(entry: tuple[str, str]) -> NotUnderstood:
    kind, reason = entry
    return NotUnderstood(reason, kind)
