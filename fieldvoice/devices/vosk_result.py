"""What Vosk tells of a sound, its JSON, read as utterances: words, ways, shares, confidences."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from typing import Any

from fieldvoice.devices.recognizer import UNKNOWN, Utterance, Way, Word

BEGINS = "|"  # before a word that begins another sentence after a pause


def utterance(result: str, pace: float = 1.0) -> Utterance:
    """Vosk's JSON as an utterance, though it were several sentences."""
    found = json.loads(result)["alternatives"]
    shares = _shares([way["confidence"] for way in found])
    ways = [(_parts(way, pace), share) for way, share in zip(found, shares, strict=True)]
    parts = tuple(replace(p, confidence=_confidence(p, ways)) for p in ways[0][0])
    if all(part.text == UNKNOWN for part in parts):
        return Utterance("", 0.0, parts, score=found[0]["confidence"])
    heard = tuple(Way(" ".join(p.text for p in way), share) for way, share in ways)
    sure = min(p.confidence for p in parts)
    return Utterance(heard[0].words, sure, parts, heard, found[0]["confidence"])


def sentences(result: str, pace: float = 1.0) -> list[Utterance]:
    """The same, cut at the pauses of the likeliest way; none where nothing was heard."""
    whole = utterance(result, pace)
    ways = [
        [unmarked(words) for words in way["text"].split(f" {BEGINS}")]
        for way in json.loads(result)["alternatives"]
    ]
    if len(ways[0]) == 1:
        return [whole] if whole.parts else []
    shares, parts, found = [way.share for way in whole.ways], list(whole.parts), []
    for at, words in enumerate(ways[0]):
        here, parts = parts[: len(words.split())], parts[len(words.split()) :]
        found.append(_one_of(at, ways, shares, tuple(here)))
    return found


def unmarked(words: str) -> str:
    """Words without the marks of where sentences begin."""
    return words.replace(BEGINS, "")


def _parts(way: dict[str, Any], pace: float) -> tuple[Word, ...]:
    return tuple(
        Word(unmarked(w["word"]), w["start"] * pace, w["end"] * pace, 1.0)
        for w in way.get("result", ())
    )


def _one_of(
    at: int, ways: list[list[str]], shares: list[float], parts: tuple[Word, ...]
) -> Utterance:
    """One sentence of several; a way that is cut otherwise stands as a whole against it."""
    if all(part.text == UNKNOWN for part in parts):
        return Utterance("", 0.0, parts)
    belief: dict[str, float] = {}
    for way, share in zip(ways, shares, strict=True):
        words = way[at] if len(way) == len(ways[0]) else " ".join(way)
        belief[words] = belief.get(words, 0.0) + share
    words = " ".join(part.text for part in parts)
    heard = sorted(belief.items(), key=lambda one: (one[0] != words, -one[1]))
    sure = min(part.confidence for part in parts)
    return Utterance(words, sure, parts, tuple(Way(*one) for one in heard))


def _shares(scores: list[float]) -> list[float]:
    """Vosk's scores are logarithms of chances, all off by the same amount."""
    weights = [math.exp(score - max(scores)) for score in scores]
    return [weight / sum(weights) for weight in weights]


def _confidence(word: Word, ways: list[tuple[tuple[Word, ...], float]]) -> float:
    """Belief in a word: of all ways that have it where its sound is."""
    return min(1.0, sum(
        share for parts, share in ways
        if any(p.text == word.text and p.start < word.end and word.start < p.end
               for p in parts)
    ))
