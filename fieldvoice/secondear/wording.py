"""Words as a graph of network outputs, in all their pronunciations, and how likely a sound is them.

The states follow CTC: a phone may last, and between two phones there may be any number of blanks,
but there must be one between two of the same. The ways of a word part before it and meet behind it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from fieldvoice.acoustics.lexicon import Phones

BLANK = 0
Doubles = NDArray[np.float64]


@dataclass
class Wording:
    """States by their labels; which follow which, begin and end."""

    labels: list[int] = field(default_factory=lambda: [BLANK])  # state 0: before the first word
    steps: set[tuple[int, int]] = field(default_factory=lambda: {(0, 0)})
    begins: list[int] = field(default_factory=lambda: [0])
    ends: list[int] = field(default_factory=lambda: [0])

    def _state(self, label: int, before: Sequence[int]) -> int:
        """A new state that may follow `before`, where the labels differ or either is a blank."""
        new = len(self.labels)
        self.labels.append(label)
        self.steps.add((new, new))
        self.steps.update((old, new) for old in before if label != self.labels[old])
        return new

    def say(self, ways: Sequence[Phones], first: bool) -> None:
        """One more word behind what ends now."""
        before, lasts = self.ends, []
        for phones in ways:
            at = list(before)
            for place, phone in enumerate(phones):
                spoken = self._state(phone, at)
                if first and place == 0:
                    self.begins.append(spoken)
                inside = place + 1 < len(phones)
                at = [spoken, self._state(BLANK, [spoken])] if inside else [spoken]
            lasts += at
        self.ends = [*lasts, self._state(BLANK, lasts)]


def wording(words: Sequence[str], lexicon: Mapping[str, Sequence[Phones]]) -> Wording:
    """The graph of some words. Raises KeyError for an unknown one."""
    graph = Wording()
    for place, word in enumerate(words):
        graph.say(lexicon[word], first=place == 0)
    return graph


def log_chances(log_probs: NDArray[np.float32], wordings: Sequence[Wording]) -> Doubles:
    """Of each wording in a sound of these outputs [time, labels]; -inf where it is too short."""
    size = max(len(w.labels) for w in wordings)
    labels = np.zeros((len(wordings), size), np.intp)
    follows, ends = np.zeros((len(wordings), size, size)), np.zeros((len(wordings), size))
    state = np.zeros((len(wordings), size))
    for row, one in enumerate(wordings):
        labels[row, : len(one.labels)] = one.labels
        follows[(row, *np.array(sorted(one.steps)).T)] = 1.0
        ends[row, one.ends], state[row, one.begins] = 1.0, 1.0
    chances = np.exp(log_probs.astype(np.float64))
    total = np.zeros(len(wordings))
    for time, chance in enumerate(chances):
        if time:
            state = np.matmul(state[:, None], follows)[:, 0]
        state = state * chance[labels]
        scale = np.maximum(state.sum(1), 1e-300)
        total += np.log(scale)
        state = state / scale[:, None]
    with np.errstate(divide="ignore"):
        found: Doubles = total + np.log((state * ends).sum(1))
    return found
