"""A spoken or typed line to one intent, or to the reason why not."""

from __future__ import annotations

import re
from collections.abc import Collection
from dataclasses import fields
from datetime import timedelta
from functools import cache

from lark import Token

from fieldvoice.language import refusals
from fieldvoice.language.chart_parser import Chart, Openings
from fieldvoice.language.free_lines import free_line
from fieldvoice.language.grammar import UnknownWord, grammar
from fieldvoice.language.intents import (
    ChangeReading,
    Correction,
    ForUnit,
    Intent,
    NextReadings,
    Note,
    NotUnderstood,
    Reading,
    Readings,
    StartHoldAt,
    TellFact,
)
from fieldvoice.language.meaning import Meaning
from fieldvoice.quantity.facts import facts

MAX_CHARACTERS = 300  # of a line that is not a note; the longest sentence has about 150
MAX_TOKENS = 40
Valued = Reading | Correction | ChangeReading
FIGURES = (Reading, Readings, ChangeReading)
COMMA = re.compile(r"\d,\d")  # thousands commas are understood: what is left is a decimal comma
UNCLEAR = (refusals.UNKNOWN[0], refusals.HALF[0])
FREE_TEXT = ("NOTE_LINE", "NOTE_WORDS", "SKIP_LINE", "FACT_LINE")  # what a long line may be


def understand(line: str, *, typed: bool = True) -> Intent:
    """The intent of a line; NotUnderstood when there is none, or more than one.

    With typed=False the line is words only: a recognizer gives no digits, signs or abbreviations.
    """
    line = whole_characters(line)
    found = _understood(line, typed)
    lost = isinstance(found, NotUnderstood) and found.kind in UNCLEAR
    free = free_line(line, lambda words: _understood(words, typed)) if lost and typed else None
    if free is not None and len(line) <= MAX_CHARACTERS:
        return free
    return _refused(refusals.DECIMAL_COMMA) if lost and COMMA.search(line) else found


def _understood(line: str, typed: bool) -> Intent:
    try:
        tokens = grammar().tokens(line, typed=typed)
    except UnknownWord as error:
        return _unknown(error.piece)
    if not tokens:
        return _refused(refusals.EMPTY)
    if len(tokens) > MAX_TOKENS or (len(line) > MAX_CHARACTERS and tokens[0].type not in FREE_TEXT):
        return _refused(refusals.TOO_LONG)
    if tokens[0].type == "NOTE_WORDS":
        return _note(tokens)
    if tokens[0].type == "FACT_LINE":
        return _fact(tokens)
    return _intent_of(Chart(_openings(), tokens))


def _note(tokens: list[Token]) -> Intent:
    """A typed "note ..." without a colon; words that are a command of their own are asked about."""
    note = _intent_of(Chart(_openings(), tokens))
    assert isinstance(note, Note)
    alone = _understood(note.text, typed=True)
    clear = isinstance(alone, NotUnderstood) and alone.kind in UNCLEAR
    return note if clear else _refused(refusals.NOTE_OR_COMMAND)


def _fact(tokens: list[Token]) -> Intent:
    """A typed "name = value": of a fact, or of a quantity if no fact is called so."""
    told = _intent_of(Chart(_openings(), tokens))
    name, sign, value = str(tokens[0]).partition("=")
    if sign and isinstance(told, TellFact) and told.fact not in facts():
        read = _understood(f"{name} {value}", typed=True)
        if isinstance(read, Reading):
            return read
    return told


def whole_characters(line: str) -> str:
    """A line without bytes that are no character: no log and no screen could take them."""
    return line.encode("utf-8", "replace").decode("utf-8")


def sounds_like_a_range(words: str) -> bool:
    """Whether heard words are a range as well: "five two eight" sounds like "five to eight"."""
    heard = words.split()
    if "two" not in heard:
        return False
    heard = _without_unit(heard)
    return any(_is_range(heard[:at], heard[at + 1 :]) for at in _places(heard, "two"))


def _without_unit(heard: list[str]) -> list[str]:
    """What is said for a unit, without the unit's name."""
    whole = understand(" ".join(heard), typed=False)
    if not isinstance(whole, ForUnit):
        return heard
    rests = (heard[at:] for at in range(1, len(heard)))
    same = (r for r in rests if understand(" ".join(r), typed=False) == whole.said)
    return next(same, heard)


def so_far(words: str) -> tuple[Intent, Collection[tuple[str, str]]]:
    """What heard words mean if nothing follows, and which rules they leave unfinished.

    Each of these with a rule or word list that would go on. Nothing goes on after too many words.
    """
    try:
        tokens = grammar().tokens(words, typed=False)
    except UnknownWord as error:
        return _unknown(error.piece), ()
    if not tokens or len(tokens) > MAX_TOKENS:
        return _refused(refusals.TOO_LONG if tokens else refusals.EMPTY), ()
    chart = Chart(_openings(), tokens)
    return _intent_of(chart), chart.awaited


def _places(heard: list[str], word: str) -> list[int]:
    return [at for at, one in enumerate(heard) if one == word]


def _is_range(before: list[str], after: list[str]) -> bool:
    """A value on either side of "to", the first one lower."""
    low, high = (understand(" ".join(part), typed=False) for part in (before, after))
    return isinstance(low, Valued) and isinstance(high, Reading) and low.value < high.value


@cache
def _openings() -> Openings:
    return Openings(grammar(), Meaning())


def _intent_of(chart: Chart) -> Intent:
    """What the line means; the rules that only ask back count where no other fits."""
    found: set[Intent] = set()
    for rule in grammar().starts:
        if rule.startswith("asked_") and found:
            break
        found |= chart.meanings(rule)
    return _decide(found, chart.ran_out)


def _decide(found: set[Intent], half: bool) -> Intent:
    """One meaning counts; a single reading beats the same words cut into several."""
    single = [intent for intent in found if not isinstance(_said(intent), Readings)]
    if len(single) == 1 and isinstance(_said(single[0]), Reading):
        return single[0]
    found = _uncut(found)
    told = [intent for intent in single if isinstance(_said(intent), TellFact)]
    if len(told) == 1 and all(isinstance(_said(intent), (*FIGURES, TellFact)) for intent in found):
        return told[0]  # "liquid line 3/8": no temperature is read in eighths
    if len(found) == 1:
        (only,) = found
        return _checked(only)
    if found:
        return _refused(refusals.TWO_INTENTS)
    return _refused(refusals.HALF if half else refusals.UNKNOWN)


def _uncut(found: set[Intent]) -> set[Intent]:
    """Of one command with readings in it those in which one reading is not cut into several."""
    whole: set[Intent] = {
        intent for intent in found
        if isinstance(said := _said(intent), NextReadings | StartHoldAt) and len(said.readings) == 1
    }
    return whole if whole and len({type(_said(intent)) for intent in found}) == 1 else found


def _said(intent: Intent) -> Intent:
    return intent.said if isinstance(intent, ForUnit) else intent


def _checked(intent: Intent) -> Intent:
    said = _said(intent)
    values = (getattr(said, field.name) for field in fields(said))  # type: ignore[arg-type]
    if any(isinstance(value, timedelta) and value <= timedelta() for value in values):
        return _refused(refusals.NO_TIME)
    return intent


def _unknown(piece: str) -> NotUnderstood:
    if piece.isalpha() and piece.isascii() and len(piece) <= 20:
        kind, reason = refusals.UNKNOWN_WORD
        return NotUnderstood(reason.format(piece=piece.lower()), kind)
    return _refused(refusals.UNKNOWN)


def _refused(entry: tuple[str, str]) -> NotUnderstood:
    kind, reason = entry
    return NotUnderstood(reason, kind)
