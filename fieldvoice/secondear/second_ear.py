"""The second network: how likely the ways in which a line was heard are to it."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from fieldvoice.acoustics.criterion import log_softmax
from fieldvoice.acoustics.lexicon import read_lexicon
from fieldvoice.acoustics.mfcc import RATE, mfcc
from fieldvoice.secondear.network_file import FILE, read
from fieldvoice.secondear.wording import log_chances, wording

LONGEST_S = 20.0  # of a sound that is weighed: a line of the grammar is shorter, a note needs none
# The first opinion holds how likely words are at all beside how they sound, the second only how
# they sound: a person's numbers were right most often at 0.4, fewest at 1.0, tuning lines alike.
SECOND = 0.5  # power of the second
LEAST = 1e-6  # of a share: how small it is below that says nothing
_TAIL = np.zeros(RATE // 4, dtype=np.int16)  # lets the network see past the last word


@dataclass(frozen=True)
class Opinion:
    """What both networks make of a line."""

    ways: tuple[tuple[str, float], ...]  # with their shares, likeliest first
    unlike: float = 0.0  # how much likelier, a phone, any sounds are than the words; a logarithm


class SecondEar:
    """A loaded network with the lexicon of its model."""

    def __init__(self, model: Path) -> None:
        """Raises ModelError, or LayoutError for a lexicon of another layout."""
        self._network = read(model / FILE)
        self._lexicon = read_lexicon(model)

    def weighed(self, ways: Sequence[tuple[str, float]], sound: NDArray[np.int16]) -> Opinion:
        """Ways of hearing a sound with their shares of belief, by both opinions.

        What this network cannot weigh ([unk], silence) stands to the others as it stood.
        """
        known = [words for words, _ in ways if self._knows(words)]
        if not known or len(sound) > LONGEST_S * RATE:
            return Opinion(tuple(ways))
        outputs = self._outputs(sound)
        found = log_chances(outputs, [wording(words.split(), self._lexicon) for words in known])
        chances = dict(zip(known, found.tolist(), strict=True))
        logs = _together([(words, math.log(max(share, LEAST))) for words, share in ways], chances)
        if logs is None:
            return Opinion(tuple(ways))
        weights = [math.exp(one - max(logs)) for one in logs]
        both = sorted(((words, weight / sum(weights))
                       for (words, _), weight in zip(ways, weights, strict=True)),
                      key=lambda way: -way[1])  # fmt: skip
        best = next(words for words, _ in both if words in chances)
        anything = float(outputs.max(1).sum())
        return Opinion(tuple(both), (anything - chances[best]) / self._phones(best))

    def _phones(self, words: str) -> int:
        return sum(len(self._lexicon[word][0]) for word in words.split())

    def _knows(self, words: str) -> bool:
        heard = words.split()
        return bool(heard) and all(word in self._lexicon for word in heard)

    def _outputs(self, sound: NDArray[np.int16]) -> NDArray[np.float32]:
        """Logarithms of the outputs' chances [time, labels]."""
        features = mfcc(np.concatenate([sound, _TAIL]))
        outputs: NDArray[np.float32] = log_softmax(self._network.scores(features))
        return outputs


def _together(
    first: Sequence[tuple[str, float]], second: Mapping[str, float]
) -> list[float] | None:
    """Both logarithms of each way added; none where the best way known to both fits no sound."""
    best, log = max(((w, log) for w, log in first if w in second), key=lambda way: way[1])
    if not math.isfinite(second[best]):
        return None
    return [one + SECOND * second.get(words, second[best] + one - log) for words, one in first]
