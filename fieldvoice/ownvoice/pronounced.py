"""How a line was pronounced, and whether it was said at all."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import chain

import numpy as np
from numpy.typing import NDArray

from fieldvoice.acoustics.criterion import log_softmax, said
from fieldvoice.acoustics.final_mdl import Weights
from fieldvoice.acoustics.lexicon import Phones
from fieldvoice.acoustics.mfcc import mfcc
from fieldvoice.ownvoice.network import Passage, identity


def pronounced(
    sound: NDArray[np.int16], words: Sequence[str], weights: Weights,
    lexicon: Mapping[str, Sequence[Phones]],
) -> tuple[Phones, float]:
    """The likeliest phones of the words, chosen word by word; and how unlikely these are.

    That is by how much they are less likely than whatever is likeliest, a phone, as a logarithm;
    infinite where the sound is too short for them. Raises KeyError for an unknown word.
    """
    log_probs = log_softmax(Passage(weights, identity(weights), mfcc(sound)[None]).scores)
    ways = [lexicon[word] for word in words]
    chosen = [way[0] for way in ways]
    total = -np.inf
    for place in range(len(words)):
        if len(ways[place]) == 1 and np.isfinite(total):
            continue
        tried = [_joined([*chosen[:place], way, *chosen[place + 1 :]]) for way in ways[place]]
        totals, _ = said(log_probs.repeat(len(tried), 0), [log_probs.shape[1]] * len(tried), tried)
        total = float(totals.max())
        chosen[place] = ways[place][int(totals.argmax())]
    phones = _joined(chosen)
    return phones, (float(log_probs.max(2).sum()) - total) / max(1, len(phones))


def _joined(words: Sequence[Phones]) -> Phones:
    return tuple(chain.from_iterable(words))
