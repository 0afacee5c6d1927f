"""Maximum mutual information over all phone sequences: what CTC lacks in knowing rival sentences.

CTC asks that the right phones score high. This asks that they score higher than any other phones a
speaker could have said, weighed by a trigram of phones (lattice-free MMI on the topology of CTC;
Povey et al., Interspeech 2016; Xiang and Ou, ICASSP 2019: read from memory). The numerator is
CTC's; here is the denominator: the same sum over every sequence of phones. With a margin the rivals
are favoured by so much for each output at which they are wrong (boosted MMI; Povey et al., ICASSP
2008: read from memory).
"""

from __future__ import annotations

from collections.abc import Iterable

import torch
from torch import Tensor

from fieldvoice.training.network.shape import BLANK, PHONES

CONTEXTS = len(PHONES) + 1  # a phone, or 0: none yet
SMOOTH = 3.0  # observations that the shorter context's distribution counts for
SCALED_EVERY = 4  # frames


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

    The state after a frame is [last phone, whether a blank has followed it, phone before last].
    Forward and backward sums are kept as chances, scaled every few frames so that they do not
    vanish. On a GPU the thousands of small kernels are recorded once and replayed.
    """

    def __init__(self, trigram: Tensor, rows: int, frames: int) -> None:
        """Reserve room for scores [frames, rows, phones and blank]."""
        device, last = trigram.device, torch.arange(CONTEXTS)
        both = torch.stack([trigram.transpose(0, 1)] * 2, 1)  # [last, blank behind it, ., next]
        both[last, 0, :, last] = 0  # without a blank between the same phone only goes on
        self.lm = both.flatten(1, 2)
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

    def _step(self, state: Tensor, chance: Tensor) -> Tensor:
        """One frame on: `state` [rows, last, blank, before], `chance` of entering each."""
        entered = torch.bmm(state.flatten(2).transpose(0, 1), self.lm)  # [last, rows, next]
        phone = entered.permute(1, 2, 0) + state[:, :, 0]
        return torch.stack([phone, state.sum(2)], 2).mul_(chance)

    def _step_back(self, after: Tensor, chance: Tensor) -> Tensor:
        """The transpose of `_step`."""
        after = after * chance
        left = torch.bmm(after[:, :, 0].permute(2, 0, 1), self.lm.transpose(1, 2))
        before = left.unflatten(2, (2, CONTEXTS)).transpose(0, 1) + after[:, :, 1:]
        before[:, :, 0] += after[:, :, 0]
        return before

    def _sums(self) -> tuple[Tensor, Tensor]:
        chances = self.log_probs.exp()
        frames, rows, _ = chances.shape
        blank = chances[:, :, BLANK, None].expand_as(chances)
        entering = torch.stack([chances, blank], 3)[..., None]
        state = chances.new_zeros(rows, CONTEXTS, 2, CONTEXTS)
        state[:, 0, 1, 0] = 1
        states, scales = [], []
        for t in range(frames):
            state = self._step(state, entering[t])
            if t % SCALED_EVERY == 0 or t == frames - 1:
                scales.append(state.sum((1, 2, 3)))
                state = state / scales[-1][:, None, None, None]
            states.append(state)
        after, afters = torch.ones_like(state), []
        for t in reversed(range(frames)):
            afters.append(after)
            after = self._step_back(after, entering[t])
            if t % SCALED_EVERY == 0:
                after = after / after.amax((1, 2, 3), keepdim=True)
        passing = (torch.stack(states) * torch.stack(afters[::-1])).sum(4)
        share = torch.cat([passing[..., 1].sum(2, keepdim=True), passing[:, :, 1:, 0]], 2)
        return torch.stack(scales).log().sum(0), share / share.sum(2, keepdim=True)

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


def wrongness(log_probs: Tensor, numerator: Tensor) -> Tensor:
    """How wrong each label is at each output, 0 to 1, as the summed CTC loss `numerator` sees it.

    One less the label's share in all paths of what was said: the gradient of that loss by
    `log_probs` is the label's chance less this share.
    """
    (gradient,) = torch.autograd.grad(numerator, log_probs, retain_graph=True)
    return 1 - (log_probs.detach().exp() - gradient)


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
