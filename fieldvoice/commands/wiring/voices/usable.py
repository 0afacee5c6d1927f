"""Which lines can be learned from: said clearly, and what they are said to be."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from fieldvoice.acoustics.final_mdl import Weights
from fieldvoice.acoustics.lexicon import Phones
from fieldvoice.acoustics.mfcc import HOP, RATE
from fieldvoice.commands.wiring.voices.spoken_lines import SpokenLine
from fieldvoice.ownvoice.fit import Line
from fieldvoice.ownvoice.pronounced import pronounced

Sound = NDArray[np.int16]
Lexicon = Mapping[str, Sequence[Phones]]

SHORTEST_S, LONGEST_S = 0.3, 15.0
QUIETEST_DB = -60.0  # of the loudest tenth of a second: below it a muted microphone was heard
FULL_SCALE, MOST_CLIPPED = 32_000, 0.01  # share of samples
# By how much what is said to be said may be less likely than whatever is likeliest, a phone, as
# logarithm: the right words of a voice never trained on stay below 2.2, wrong ones above 5.6.
MOST_UNLIKELY = 5.0
_UNLIKE = "it does not sound like {!r}"


def trouble(sound: Sound) -> str:
    """Why a sound cannot be learned from; "" for one that can."""
    seconds = len(sound) / RATE
    if seconds < SHORTEST_S:
        return "it is too short"
    if seconds > LONGEST_S:
        return f"it is longer than {LONGEST_S:g} s: a line is one sentence"
    level = np.abs(sound.astype(np.float32))
    if 20 * np.log10(loudest(sound) / 32_768 + 1e-9) < QUIETEST_DB:
        return "it is silent"
    if float((level >= FULL_SCALE).mean()) > MOST_CLIPPED:
        return "it is too loud for the microphone: speak from further away"
    return ""


def loudest(sound: Sound) -> float:
    """Effective level of the loudest tenth of a second, in steps of int16."""
    pieces = sound[: len(sound) // 1600 * 1600].reshape(-1, 1600).astype(np.float64)
    return float(np.sqrt((pieces**2).mean(1)).max()) if len(pieces) else 0.0


def usable(
    lines: Iterable[SpokenLine], weights: Weights, lexicon: Lexicon, skipped: list[str]
) -> list[tuple[SpokenLine, Line]]:
    """The lines without most of the quiet around them, with their phones.

    What cannot be used joins `skipped`.
    """
    found = []
    for line in lines:
        if why := trouble(line.sound) or _unknown(line.words, lexicon):
            skipped.append(f"{line.where}: {why}")
            continue
        sound = speech_of(line.sound)
        phones, unlikely = pronounced(sound, line.words.split(), weights, lexicon)
        if unlikely > MOST_UNLIKELY:
            skipped.append(f"{line.where}: {_UNLIKE.format(line.words)}")
        else:
            found.append((replace(line, sound=sound), Line(sound, phones)))
    return found


def unlike(sound: Sound, words: str, weights: Weights, lexicon: Lexicon) -> str:
    """Why a sound is not these words; "" where it may well be."""
    _, unlikely = pronounced(speech_of(sound), words.split(), weights, lexicon)
    return _UNLIKE.format(words) if unlikely > MOST_UNLIKELY else ""


def speech_of(sound: Sound) -> Sound:
    """Without most of the quiet before and after what is said."""
    pieces = sound[: len(sound) // HOP * HOP].reshape(-1, HOP).astype(np.float64)
    level = np.sqrt((pieces**2).mean(1))
    loud = np.flatnonzero(level > max(level.max() * 0.03, 2 * np.percentile(level, 10)))
    if not len(loud):
        return sound
    margin = int(0.3 * RATE)
    return sound[max(0, int(loud[0]) * HOP - margin) : (int(loud[-1]) + 1) * HOP + margin]


def _unknown(words: str, lexicon: Lexicon) -> str:
    unknown = [word for word in words.split() if word not in lexicon]
    if not words:
        return "it has no words"
    return f"{', '.join(map(repr, unknown))} cannot be heard by this model" if unknown else ""
