"""Two utterances that are one line, said with a pause in it."""

from __future__ import annotations

from dataclasses import replace

from fieldvoice.devices.recognizer import Utterance, Way

MOST_WAYS = 10


def joined(first: Utterance, second: Utterance) -> Utterance:
    """One utterance of two: each way of one with each of the other, as likely as both."""
    ways = [
        Way(f"{a.words} {b.words}", a.share * b.share) for a in first.ways for b in second.ways
    ]
    ways = sorted(ways, key=lambda way: -way.share)[:MOST_WAYS]
    total = sum(way.share for way in ways)
    shares = tuple(replace(way, share=way.share / total) for way in ways)
    after = max((part.end for part in first.parts), default=0.0)
    moved = (replace(p, start=p.start + after, end=p.end + after) for p in second.parts)
    return Utterance(
        f"{first.words} {second.words}", min(first.confidence, second.confidence),
        (*first.parts, *moved), shares,
    )  # fmt: skip
