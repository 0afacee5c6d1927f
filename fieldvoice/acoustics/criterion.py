"""How well scores fit what was said: CTC, and MMI against every other sequence of phones.

The same criteria that the network was trained by (training/network/mmi.py), with their gradients
worked out by hand. Rows may differ in length: what lies behind a row's length counts for nothing.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np
from numpy.typing import NDArray

from fieldvoice.acoustics.final_mdl import Floats
from fieldvoice.acoustics.lexicon import Phones

BLANK = 0
SMOOTH = 3.0  # observations that the shorter context's distribution counts for


def log_softmax(scores: Floats) -> Floats:
    """Over the last axis."""
    raised = scores - scores.max(-1, keepdims=True)
    logs: Floats = raised - np.log(np.exp(raised).sum(-1, keepdims=True))
    return logs


def said(
    log_probs: Floats, lengths: Sequence[int], targets: Sequence[Phones]
) -> tuple[NDArray[np.float64], Floats]:
    """Log chance of each row's phones by CTC [rows], and the share of each label [rows, time, .].

    A row that is too short for its phones has no chance (-inf) and no shares.
    """
    chances = np.exp(log_probs.astype(np.float64))
    rows, time, outputs = chances.shape
    labels, ends, skips = _laid_out(targets)
    chance = np.take_along_axis(chances, labels[:, None, :].repeat(time, 1), 2)
    alphas = np.empty_like(chance)
    state = np.zeros((rows, labels.shape[1]))
    state[:, :2] = chance[:, 0, :2]
    total = np.zeros(rows)
    live = np.asarray(lengths)
    for t in range(time):
        if t:
            entered = state.copy()
            entered[:, 1:] += state[:, :-1]
            entered[:, 2:] += state[:, :-2] * skips[:, 2:]
            state = np.where((t < live)[:, None], entered * chance[:, t], state)
        scale = state.sum(1)
        with np.errstate(divide="ignore"):
            total += np.log(scale)
        state = state / np.maximum(scale, 1e-300)[:, None]
        alphas[:, t] = state
    with np.errstate(divide="ignore"):
        total += np.log((state * ends).sum(1))
    after = ends.copy()
    shares = np.empty_like(chance)
    for t in reversed(range(time)):
        shares[:, t] = alphas[:, t] * after
        coming = after * chance[:, t]
        left = coming.copy()
        left[:, :-1] += coming[:, 1:]
        left[:, :-2] += (coming * skips)[:, 2:]
        left /= np.maximum(left.max(1, keepdims=True), 1e-300)
        after = np.where((t < live)[:, None], left, after)
    one_hot = np.eye(outputs)[labels]
    return total, _shared(shares @ one_hot, live)


def _laid_out(
    targets: Sequence[Phones],
) -> tuple[NDArray[np.intp], NDArray[np.float64], NDArray[np.float64]]:
    """Labels with blanks between, which of them can be last, and where a blank can be skipped."""
    width = 2 * max(map(len, targets)) + 1
    labels = np.zeros((len(targets), max(width, 2)), np.intp)
    ends, skips = np.zeros(labels.shape), np.zeros(labels.shape)
    for row, target in enumerate(targets):
        labels[row, 1 : 2 * len(target) : 2] = target
        ends[row, max(0, 2 * len(target) - 1) : 2 * len(target) + 1] = 1
        for k in range(1, len(target)):
            skips[row, 2 * k + 1] = target[k] != target[k - 1]
    return labels, ends, skips


def phone_trigram(sequences: Iterable[Phones], labels: int) -> Floats:
    """Chances [before last, last, next] of phones 1.. in that context, smoothed by the bigram."""
    counts = np.zeros((labels, labels, labels))
    for sequence in sequences:
        for a, b, c in zip((0, 0, *sequence), (0, *sequence), sequence, strict=False):
            counts[a, b, c] += 1
    single = counts.sum((0, 1)) + 0.5
    single[BLANK] = 0  # "none yet" is never said
    double = counts.sum(0) + SMOOTH * single / single.sum()
    triple = counts + SMOOTH * double / double.sum(-1, keepdims=True)
    chances: Floats = (triple / triple.sum(-1, keepdims=True)).astype(np.float32)
    return chances


class Rivals:
    """All sequences of phones that could have been said, weighed by a trigram.

    The state after an output is [last phone, whether a blank has followed it, phone before last].
    """

    def __init__(self, trigram: Floats) -> None:
        last = np.arange(len(trigram))
        both = np.stack([trigram.transpose(1, 0, 2)] * 2, 1)  # [last, blank behind it, ., next]
        both[last, 0, :, last] = 0  # without a blank between the same phone only goes on
        self._following = np.ascontiguousarray(both.reshape(len(trigram), -1, len(trigram)))
        self._preceding = np.ascontiguousarray(self._following.transpose(0, 2, 1))
        self._phones = len(trigram)

    def __call__(
        self, log_probs: Floats, lengths: Sequence[int]
    ) -> tuple[NDArray[np.float64], Floats]:
        """Log of the summed chances of all sequences [rows], and the share of each label."""
        chances = np.exp(log_probs)
        rows, time, n = chances.shape
        live = np.asarray(lengths)
        state = np.zeros((rows, n, 2, n), np.float32)
        state[:, 0, 1, 0] = 1
        total = np.zeros(rows)
        states = np.empty((time, *state.shape), np.float32)
        for t in range(time):
            entered = self._step(state, chances[:, t])
            state = np.where((t < live)[:, None, None, None], entered, state)
            scale = state.sum((1, 2, 3))
            total += np.log(scale)
            state = state / scale[:, None, None, None]
            states[t] = state
        after, shares = np.ones_like(state), np.empty_like(chances)
        for t in reversed(range(time)):
            passing = (states[t] * after).sum(3)
            shares[:, t] = np.concatenate(
                [passing[:, :, 1].sum(1, keepdims=True), passing[:, 1:, 0]], 1)
            left = self._step_back(after, chances[:, t])
            left /= left.max((1, 2, 3), keepdims=True)
            after = np.where((t < live)[:, None, None, None], left, after)
        return total, _shared(shares, live)

    def _step(self, state: Floats, chance: Floats) -> Floats:
        rows, n = len(state), self._phones
        entered = np.matmul(state.reshape(rows, n, 2 * n).transpose(1, 0, 2), self._following)
        new = np.empty_like(state)
        new[:, :, 0] = (entered.transpose(1, 2, 0) + state[:, :, 0]) * chance[:, :, None]
        new[:, :, 1] = state.sum(2) * chance[:, BLANK, None, None]
        return new

    def _step_back(self, after: Floats, chance: Floats) -> Floats:
        rows, n = len(after), self._phones
        phone = after[:, :, 0] * chance[:, :, None]
        blank = after[:, :, 1] * chance[:, BLANK, None, None]
        left = np.matmul(np.ascontiguousarray(phone.transpose(2, 0, 1)), self._preceding)
        before = left.reshape(n, rows, 2, n).transpose(1, 0, 2, 3) + blank[:, :, None]
        before[:, :, 0] += phone
        found: Floats = before
        return found


def _shared(shares: NDArray[np.floating], live: NDArray[np.intp]) -> Floats:
    """Made to add up to 1 at each output of a row, and to 0 behind its end."""
    whole = shares.sum(2, keepdims=True)
    inside = np.arange(shares.shape[1])[None, :, None] < live[:, None, None]
    even = np.where(inside & (whole > 0), shares / np.maximum(whole, 1e-300), 0)
    return even.astype(np.float32)
