"""Whether the speech model loads, is ours, and knows the words of the grammar."""

from __future__ import annotations

import time
from pathlib import Path
from typing import TYPE_CHECKING

from fieldvoice.commands.checks.finding import BAD, OK, WARN, Finding

if TYPE_CHECKING:
    from fieldvoice.language.grammar import Grammar

SLOW_LOAD_S = 5.0


def model(folder: Path | None) -> Finding:
    """Load it and compare its words. Raises ModelError for a folder that is no model."""
    from fieldvoice.commands.wiring.models import load_recognizer
    from fieldvoice.devices.vosk_recognizer import OWN_MODEL, is_own

    path = folder or OWN_MODEL
    began = time.perf_counter()
    load_recognizer(folder)
    load_s = time.perf_counter() - began
    own = is_own(path)
    return judge_model(path, load_s, unknown_words(path) if own else [], own)


def unknown_words(folder: Path) -> list[str]:
    """Words that can be said but that the model's graph does not have."""
    from fieldvoice.language.grammar import grammar

    lines = (folder / "graph" / "words.txt").read_text("utf-8").splitlines()
    heard = {line.split()[0] for line in lines if line.strip()}
    return sorted(spoken_words(grammar()) - heard)


def spoken_words(language: Grammar) -> set[str]:
    """Every word of the grammar's spoken rules."""
    left, seen, found = list(language.starts), set[str](), set[str]()
    while left:
        rule = left.pop()
        if rule in seen or rule.startswith("typed_"):
            continue
        seen.add(rule)
        for alternative in language.rules[rule]:
            if not language.is_typed_only(alternative):
                for symbol in alternative.expansion:
                    found |= set(language.words_of.get(symbol.name, ()))
                    left += [symbol.name] if symbol.name in language.rules else []
    return found


def judge_model(path: Path, load_s: float, unknown: list[str], own: bool) -> Finding:
    """What these mean."""
    figures = {"folder": str(path), "own": own, "load_s": round(load_s, 2),
               "unknown_words": unknown}
    found = f"{'our own' if own else 'a foreign one'}, {path}, loads in {load_s:.1f} s"
    if unknown:
        return Finding("model", BAD, f"{found}, but cannot hear {', '.join(unknown[:5])}"
                       f"{' and more' if len(unknown) > 5 else ''}",
                       "model and grammar are of two versions: install Fieldvoice again", figures)
    if not own:
        return Finding("model", WARN, found, "leave --model away: ours is made for these words",
                       figures)
    if load_s > SLOW_LOAD_S:
        return Finding("model", WARN, found, "a slow start: close other programs", figures)
    return Finding("model", OK, found, figures=figures)
