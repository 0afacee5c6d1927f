"""Maximum mutual information over all phone sequences: what CTC lacks in knowing rival sentences.

CTC asks that the right phones score high. This asks that they score higher than any other phones a
speaker could have said, weighed by a trigram of phones (lattice-free MMI on the topology of CTC;
Povey et al., Interspeech 2016; Xiang and Ou, ICASSP 2019: read from memory). The numerator is
CTC's; here is the denominator: the same sum over every sequence of phones.
"""

from __future__ import annotations

from collections.abc import Iterable

import torch
from torch import Tensor

from fieldvoice.acoustic.network import BLANK, PHONES

CONTEXTS = len(PHONES) + 1  # a phone, or 0: none yet
SMOOTH = 3.0  # observations that the shorter context's distribution counts for


def phone_trigram(sequences: Iterable[list[int]]) -> Tensor:
    """Chances [before last, last, next] of phones 1.. in that context, smoothed by the bigram."""
    counts = torch.zeros(CONTEXTS, CONTEXTS, CONTEXTS)
    for sequence in sequences:
        for a, b, c in zip([0, 0, *sequence], [0, *sequence], sequence, strict=False):
            counts[a, b, c] += 1
    single = counts.sum((0, 1)) + 0.5
    single[0] = 0  # "none yet" is never said
    single = single / single.sum()
    double = counts.sum(0) + SMOOTH * single
    double = double / double.sum(-1, keepdim=True)
    triple = counts + SMOOTH * double
    return triple / triple.sum(-1, keepdim=True)


class Denominator:
    """Log of the summed chances of all phone sequences, and its gradient.

    The state after a frame is (before last phone, last phone) and whether a blank has followed the
    last phone since. Forward and backward sums are kept as chances, scaled at each frame. On a GPU
    the thousands of small kernels are recorded once and replayed.
    """

    def __init__(self, trigram: Tensor, rows: int, frames: int) -> None:
        """Reserve room for scores [frames, rows, phones and blank]."""
        device = trigram.device
        self.lm = trigram.transpose(0, 1).contiguous()  # [last, before last, next]
        self.again = torch.diagonal(trigram, dim1=1, dim2=2)[None]  # the last phone once more
        self.same = torch.eye(CONTEXTS, device=device)[None]
        self.log_probs = trigram.new_zeros(frames, rows, CONTEXTS)
        self.total, self.occupancy = self._sums()
        self.graph: torch.cuda.CUDAGraph | None = None
        if device.type == "cuda":
            side = torch.cuda.Stream()
            side.wait_stream(torch.cuda.current_stream())
            with torch.cuda.stream(side):
                self._sums()
            torch.cuda.current_stream().wait_stream(side)
            self.graph = torch.cuda.CUDAGraph()
            with torch.cuda.graph(self.graph):
                self.total, self.occupancy = self._sums()

    def _step(self, phone: Tensor, blank: Tensor, chance: Tensor) -> tuple[Tensor, Tensor]:
        """One frame on: `phone`, `blank` [rows, before last, last], `chance` [rows, phones]."""
        both = phone + blank
        entered = torch.bmm(both.permute(2, 0, 1), self.lm).transpose(0, 1)  # [rows, last, next]
        repeated = (phone * self.again).sum(1)  # without a blank between: still the same phone
        entered = entered - repeated[:, :, None] * self.same
        return (entered + phone) * chance[:, None], both * chance[:, BLANK, None, None]

    def _step_back(self, phone: Tensor, blank: Tensor, chance: Tensor) -> tuple[Tensor, Tensor]:
        """The transpose of `_step`."""
        phone, blank = phone * chance[:, None], blank * chance[:, BLANK, None, None]
        both = torch.bmm(phone.transpose(0, 1), self.lm.transpose(1, 2)).permute(1, 2, 0) + blank
        repeated = torch.diagonal(phone, dim1=1, dim2=2)
        return both + phone - self.again * repeated[:, None], both

    def _sums(self) -> tuple[Tensor, Tensor]:
        chances = self.log_probs.exp()
        frames, rows, _ = chances.shape
        phone = chances.new_zeros(rows, CONTEXTS, CONTEXTS)
        blank = phone.clone()
        blank[:, 0, 0] = 1
        total = chances.new_zeros(rows)
        states = []
        for t in range(frames):
            phone, blank = self._step(phone, blank, chances[t])
            scale = (phone + blank).sum((1, 2))
            total = total + scale.log()
            phone, blank = phone / scale[:, None, None], blank / scale[:, None, None]
            states.append((phone, blank))
        occupancy = torch.empty_like(chances)
        after_phone, after_blank = torch.ones_like(phone), torch.ones_like(blank)
        for t in reversed(range(frames)):
            phone, blank = states[t]
            phones = (phone * after_phone).sum(1)
            blanks = (blank * after_blank).sum((1, 2))
            share = torch.cat([blanks[:, None], phones[:, 1:]], 1)
            occupancy[t] = share / share.sum(1, keepdim=True)
            after_phone, after_blank = self._step_back(after_phone, after_blank, chances[t])
            scale = torch.maximum(after_phone, after_blank).amax((1, 2))[:, None, None]
            after_phone, after_blank = after_phone / scale, after_blank / scale
        return total, occupancy

    def __call__(self, log_probs: Tensor) -> Tensor:
        """Summed over rows: log of the sum of all sequences of `log_probs` [frames, rows, .]."""
        with torch.no_grad():
            self.log_probs.copy_(log_probs)
            if self.graph:
                self.graph.replay()
            else:
                self.total, self.occupancy = self._sums()
        value: Tensor = _Known.apply(log_probs, self.total.sum(), self.occupancy)
        return value


class _Known(torch.autograd.Function):
    """A value whose gradient is known already."""

    @staticmethod
    def forward(ctx: torch.autograd.function.FunctionCtx, x: Tensor, value: Tensor,
                gradient: Tensor) -> Tensor:  # fmt: skip
        ctx.save_for_backward(gradient)
        return value.clone()

    @staticmethod
    def backward(ctx, grad: Tensor) -> tuple[Tensor, None, None]:  # type: ignore[no-untyped-def]
        (gradient,) = ctx.saved_tensors
        return grad * gradient, None, None
