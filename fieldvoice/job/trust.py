"""How much of what was heard is believed: the one place with the thresholds."""

from __future__ import annotations

from enum import Enum

from fieldvoice.spoken import intents as i

# Lowest word confidence of a spoken line, 0..1. Replaced by measured values when the model changes.
ACCEPT_FROM = 0.70  # from here on a line counts as heard
IGNORE_BELOW = 0.35  # below, it was most likely talk that was not for us
OUTSIDE = "[unk]"  # what the recognizer writes for a word outside its vocabulary
MOSTLY_STRANGE = 0.5  # share of such words

# Wrongly heard, these cost nothing: they change no reading and no step, so none is asked back.
HARMLESS: tuple[type[i.Intent], ...] = (
    i.Repeat, i.WhatNow, i.WhereAreWe, i.Why, i.Help, i.HowLongLeft, i.AskLast, i.AskVerdict,
    i.AskForecast, i.AskTargetSuperheat, i.AskSuperheat, i.AskSubcooling, i.AskCharge,
    i.AskBoilingPoint, i.BackToWork, i.ChangeVoice, i.StartNote,
)


class Trust(Enum):
    """What to do with a line."""

    ACCEPT = "accept"
    ASK = "ask"
    IGNORE = "ignore"


def judge(intent: i.Intent, confidence: float | None, words: str = "") -> Trust:
    """Believe, ask back or ignore a line; typed lines (no confidence) are always believed.

    A spoken line that is not understood and mostly outside the vocabulary was talk to others.
    """
    if confidence is None:
        return Trust.ACCEPT
    if isinstance(intent, i.NotUnderstood) and _strange_share(words) >= MOSTLY_STRANGE:
        return Trust.IGNORE
    if confidence >= ACCEPT_FROM:
        return Trust.ACCEPT
    if confidence < IGNORE_BELOW or isinstance(intent, i.NotUnderstood):
        return Trust.IGNORE
    return Trust.ACCEPT if isinstance(intent, HARMLESS) else Trust.ASK


def _strange_share(words: str) -> float:
    heard = words.split()
    return heard.count(OUTSIDE) / len(heard) if heard else 0.0
