"""Train the network by CTC or MMI: `python -m fieldvoice.training.network.train --help`."""

from __future__ import annotations

import argparse
import copy
import math
import random
import time
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

import torch
from torch import Tensor, nn

from fieldvoice.training.evaluate.alignment import edits
from fieldvoice.training.network.features import HOP, RATE, Mfcc, frame_count
from fieldvoice.training.network.mmi import Denominator, phone_trigram, wrongness
from fieldvoice.training.network.shape import BLANK, PHONES, SUBSAMPLING, Size
from fieldvoice.training.network.tdnn import Network, measure_norms, parameters
from fieldvoice.training.speech import augment
from fieldvoice.training.speech.corpus import Batch, Corpus, Feed, Spoken, load, plain_batch, watch

BROKEN = 2.0  # times the least held-out errors: going on from there leads nowhere
CTC_BESIDE_MMI = 0.1  # keeps MMI from forgetting what silence is
WARPS = tuple(round(0.88 + 0.02 * k, 2) for k in range(14))  # vocal-tract lengths, 1.0 among them


@dataclass(frozen=True)
class Settings:
    """How long and how hard to train."""

    minutes: float = 10.0
    rows: int = 96  # of a batch
    seconds: float = 9.6  # of a row
    peak_rate: float = 1.2e-3
    weight_decay: float = 1e-3
    average: float = 0.999  # of the weights, exponentially
    seed: int = 1
    report: int = 1000  # steps between two lines on the held-out errors
    flat_steps: int = 400  # of flat start
    plain_steps: int = 1000  # up to which sound stays clean
    criterion: str = "ctc"  # or "mmi"
    margin: float = 0.0  # of MMI: by which rivals are favoured an output at which they are wrong
    noisy: float = 0.5  # share of the noisy rows that are very noisy
    easy: float = 0.25  # share of the time over which the augmentation then grows to full strength


def mask(mel: Tensor) -> Tensor:
    """Blot out random stretches of time and bands (SpecAugment) of log mel energies."""
    rows, frames, bands = mel.shape
    device = mel.device
    filler = mel.mean((1, 2), keepdim=True)
    t, f = torch.arange(frames, device=device), torch.arange(bands, device=device)
    for axis, size, longest, odds in ((t, frames, 10, 0.4), (f, bands, 7, 0.35)):
        width = torch.randint(1, longest, (rows, 1), device=device)
        width = width * (torch.rand(rows, 1, device=device) < odds)
        start = (torch.rand(rows, 1, device=device) * size).long()
        hit = (axis >= start) & (axis < start + width)
        hit = hit[:, :, None] if axis is t else hit[:, None, :]
        mel = torch.where(hit, filler, mel)
    return mel


def wander(mel: Tensor, strength: Tensor) -> Tensor:
    """Let each row's equalization wander while it speaks, up to some 6 dB within a tenth second.

    Synthesizers make a consonant much the same way each time; people's differ, and one person's F
    lies where another's S does. What surrounds a consonant must tell as much as its own spectrum.
    """
    rows, frames, bands = mel.shape
    device = mel.device
    knots = torch.randn(rows, 1, frames // 9 + 2, 8, device=device)
    field = nn.functional.interpolate(knots, (frames, bands), mode="bilinear", align_corners=True)
    size = torch.rand(rows, 1, 1, device=device) * (torch.rand(rows, 1, 1, device=device) < 0.6)
    return mel + field[:, 0] * size * 1.4 * strength  # natural log of power: 1.4 is 6 dB


def output_lengths(samples: list[int], longest: int, device: torch.device) -> Tensor:
    """Network outputs that belong to each row."""
    frames = frame_count(torch.tensor(samples, device=device))
    return torch.clamp((frames + SUBSAMPLING - 1) // SUBSAMPLING, max=longest)


class Step:
    """From a batch to phone scores and back to gradients.

    On a GPU the three parts (features, forward, backward) are recorded once and replayed, as
    launching their many small kernels would take most of the time. The loss between them is not.
    """

    def __init__(
        self, network: Network, mfcc: Mfcc, bank: augment.NoiseBank, first: Batch,
        noisy: float = 0.5,
    ) -> None:  # fmt: skip
        self.network, self.mfcc, self.bank, self.noisy = network, mfcc, bank, noisy
        device = next(network.parameters()).device
        self.sound = first.sound.to(device).float()
        self.level, self.strength = first.level.to(device), torch.zeros((), device=device)
        self.features = self._features()
        self.graphs: list[torch.cuda.CUDAGraph] = []
        self.scores = self.leaf = self.gradient = torch.empty(0)
        if device.type == "cuda":
            try:
                self._record()
            except RuntimeError as error:
                print(f"training goes on unrecorded, three times slower: {error}", flush=True)
                self.graphs = []

    def _features(self) -> Tensor:
        with torch.no_grad():
            sound = augment.site(self.sound, self.level, self.bank, self.strength, self.noisy)
            warped = torch.rand(len(sound), device=sound.device) < 0.5 * self.strength
            banks = torch.randint(len(WARPS), (len(sound),), device=sound.device)
            banks = torch.where(warped, banks, WARPS.index(1.0))
            mel = wander(self.mfcc.log_mel(sound, banks), self.strength)
            return mask(mel) @ self.mfcc.cosines

    def _forward(self) -> Tensor:
        cuda = self.features.device.type == "cuda"
        with torch.autocast(self.features.device.type, torch.bfloat16, cuda, cache_enabled=False):
            return self.network(self.features)

    def _record(self) -> None:
        side = torch.cuda.Stream()
        side.wait_stream(torch.cuda.current_stream())
        with torch.cuda.stream(side):
            for _ in range(3):
                self._features()
                self.network.zero_grad(set_to_none=True)
                self._forward().float().square().mean().backward()
        torch.cuda.current_stream().wait_stream(side)
        eager = [p.grad.norm() for p in self.network.parameters() if p.grad is not None]
        self.network.zero_grad(set_to_none=True)
        self.graphs = [torch.cuda.CUDAGraph() for _ in range(3)]
        with torch.cuda.graph(self.graphs[0]):
            self.features = self._features()
        with torch.cuda.graph(self.graphs[1]):
            self.scores = self._forward()
        self.gradient = torch.zeros_like(self.scores)
        with torch.cuda.graph(self.graphs[2], pool=self.graphs[1].pool()):
            self.scores.backward(self.gradient)
        self._check(eager)

    def _check(self, eager: list[Tensor]) -> None:
        """Compare replayed gradients with eager ones, parameter by parameter (dropout differs)."""
        for graph in self.graphs[:2]:
            graph.replay()
        self.leaf = self.scores.detach().requires_grad_()
        self.learn(self.leaf.float().square().mean())
        for (name, p), norm in zip(self.network.named_parameters(), eager, strict=True):
            ratio = float(p.grad.norm() / norm) if p.grad is not None else 0.0
            if not 0.2 < ratio < 5:
                raise RuntimeError(f"recorded gradient of {name}: {ratio:.3g} times the eager one")

    def __call__(self, batch: Batch, strength: float) -> Tensor:
        """Scores [rows, time, phones] of the augmented batch."""
        # to the device as int16: copied straight into floats it would be converted on the CPU
        self.sound.copy_(batch.sound.to(self.sound.device, non_blocking=True))
        self.level.copy_(batch.level)
        self.strength.fill_(strength)
        if not self.graphs:
            self.features = self._features()
            return self._forward()
        for graph in self.graphs[:2]:
            graph.replay()
        self.leaf = self.scores.detach().requires_grad_()
        return self.leaf

    def learn(self, loss: Tensor) -> None:
        """Leave the gradients of a loss of the last scores in the parameters."""
        if not self.graphs:
            self.network.zero_grad(set_to_none=True)
        loss.backward()
        if self.graphs and self.leaf.grad is not None:
            self.gradient.copy_(self.leaf.grad)
            self.graphs[2].replay()  # writes each parameter's gradient anew


def phone_loss(
    scores: Tensor, batch: Batch, rivals: Denominator | None, margin: float = 0.0
) -> Tensor:
    """CTC loss a phone of packed rows; with `rivals` that of MMI and a little CTC beside it.

    A mean of rows, each by its own length, would let the few that say nothing outweigh the rest.
    Lengths stay on the CPU, which spares a wait for the GPU.
    """
    log_probs = scores.float().log_softmax(-1).transpose(0, 1)
    flat = torch.tensor([p for t in batch.targets for p in t], device=scores.device)
    lengths, sizes = [len(log_probs)] * len(batch.targets), [len(t) for t in batch.targets]
    loss = nn.functional.ctc_loss(log_probs, flat, lengths, sizes, BLANK, "sum", True)
    if rivals:
        favoured = log_probs + margin * wrongness(log_probs, loss) if margin else log_probs
        loss = (1 + CTC_BESIDE_MMI) * loss + rivals(favoured)
    return loss / len(flat)


def flat_start_loss(scores: Tensor, batch: Batch) -> Tensor:
    """Cross-entropy against phones spread evenly over each utterance.

    CTC from random weights first learns to say blank everywhere and leaves that only slowly; a
    minute of this rough alignment carries it past. The true alignment is then found by CTC alone.
    """
    labels = torch.full(scores.shape[:2], BLANK, dtype=torch.long)
    for row, spans in enumerate(batch.spans):
        for start, end, target in spans:
            first, last = start // (HOP * SUBSAMPLING), end // (HOP * SUBSAMPLING)
            place = torch.arange(last - first) * len(target) // max(1, last - first)
            labels[row, first:last] = torch.tensor(target)[place]
    return nn.functional.cross_entropy(scores.float().transpose(1, 2), labels.to(scores.device))


@torch.no_grad()
def update_average(average: nn.Module, network: nn.Module, keep: float) -> None:
    """Move the averaged weights towards the current ones; copy running statistics."""
    slow, fast = list(average.parameters()), list(network.parameters())
    torch._foreach_lerp_(slow, fast, 1 - keep)
    for kept, current in zip(average.buffers(), network.buffers(), strict=True):
        kept.copy_(current)


def settle_norms(average: nn.Module, step: Step, feed: Feed, batches: int, strength: float) -> None:
    """Measure the normalizations afresh for the averaged weights, on augmented speech.

    The running statistics belong to the current weights; with averaged ones they can be far off.
    """

    def features() -> Iterator[Tensor]:
        for _ in range(batches):
            step(feed.next(), strength)
            yield step.features

    measure_norms(average, features())


def best_path(scores: Tensor) -> list[int]:
    """Collapse the likeliest labels: repeats merged, blanks dropped."""
    merged = torch.unique_consecutive(scores.argmax(-1)).tolist()
    return [p for p in merged if p != BLANK]


@torch.no_grad()
def phone_error(
    network: nn.Module, mfcc: Mfcc, spoken: list[Spoken], bank: augment.NoiseBank | None = None
) -> float:
    """Phone error rate on up to 400 held-out utterances, clean or (given a bank) as on site."""
    network.eval()
    device = mfcc.cosines.device
    wrong = total = 0
    for first in range(0, min(400, len(spoken)), 100):
        batch = plain_batch(spoken[first : first + 100]).to(device)
        sound = batch.sound.float()
        if bank:
            sound = augment.site(sound, batch.level, bank, torch.ones((), device=device))
        scores = network(mfcc(sound + torch.randn_like(sound)))
        lengths = output_lengths(batch.samples, scores.shape[1], device)
        for row, target in enumerate(batch.targets):
            wrong += edits(target, best_path(scores[row, : lengths[row]]))
            total += len(target)
    return wrong / max(1, total)


@torch.no_grad()
def mean_posteriors(network: nn.Module, mfcc: Mfcc, corpus: Corpus, count: int = 1000) -> Tensor:
    """Average output probabilities over clean training speech: the label priors."""
    network.eval()
    device, rng = mfcc.cosines.device, random.Random(3)
    total = torch.zeros(len(PHONES) + 1, device=device, dtype=torch.float64)
    for _ in range(count // 100):
        batch = plain_batch([corpus.draw(rng) for _ in range(100)]).to(device)
        sound = batch.sound.float()
        scores = network(mfcc(sound + torch.randn_like(sound))).softmax(-1)
        lengths = output_lengths(batch.samples, scores.shape[1], device)
        for row, n in enumerate(lengths.tolist()):
            total += scores[row, :n].double().sum(0)
    return (total / total.sum()).float()


def rate_at(step: int, done: float, how: Settings) -> float:
    """Learning rate: a short climb, then half a cosine over the share `done` of the time."""
    return how.peak_rate * min(1, (step + 1) / 300) * (0.5 * (1 + math.cos(math.pi * done)) + 0.002)


def loss_of(step: Step, batch: Batch, number: int, strength: float, how: Settings,
            rivals: Denominator | None) -> Tensor:  # fmt: skip
    """Loss of one step: flat start, then clean sound, then the whole augmentation."""
    if number < how.flat_steps:
        return flat_start_loss(step(batch, 0.0), batch)
    scores = step(batch, 0.0 if number < how.plain_steps else strength)
    return phone_loss(scores, batch, rivals, how.margin)


def rival_sequences(corpus: Corpus, step: Step, count: int = 20_000) -> Denominator:
    """The denominator of MMI for batches of this step: phones in threes of the corpus."""
    rng = random.Random(5)
    rows = ([p for _ in range(3) for p in corpus.draw(rng).target] for _ in range(count))
    outputs = -(-step.features.shape[1] // SUBSAMPLING)
    return Denominator(phone_trigram(rows).to(step.features.device), len(step.sound), outputs)


def report(
    average: Network, plain: Mfcc, held_out: list[Spoken], bank: augment.NoiseBank, note: str
) -> list[float]:
    """Print held-out phone errors, clean and as on site."""
    errors = [phone_error(average, plain, held_out, b) for b in (None, bank)]
    print(f"{note}, held-out phone errors {errors[0]:.2%} clean, {errors[1]:.2%} on site",
          flush=True)  # fmt: skip
    return errors


def train(network: Network, folder: Path, held_out: list[Spoken], how: Settings,
          keep: Path) -> None:  # fmt: skip
    """Train for the given minutes; keeps averaged weights, priors, size and errors in a file."""
    torch.manual_seed(how.seed)
    torch.set_float32_matmul_precision("high")
    device = next(network.parameters()).device
    plain, bank = Mfcc().to(device), augment.NoiseBank(device)
    average = copy.deepcopy(network).eval()
    speech = Corpus()
    watch(speech, folder)
    feed = Feed(folder, how.rows, int(how.seconds * RATE), how.seed)
    network.train()
    step = Step(network, Mfcc(WARPS).to(device), bank, feed.next(), how.noisy)
    rivals = rival_sequences(speech, step) if how.criterion == "mmi" else None
    optimizer = torch.optim.AdamW(network.parameters(), lr=1e-3, weight_decay=how.weight_decay,
                                  fused=device.type == "cuda")  # fmt: skip
    print(f"{parameters(network) / 1e6:.2f} M parameters, {speech.hours():.2f} h of speech",
          flush=True)  # fmt: skip

    least = math.inf

    def save(number: int, note: str, batches: int) -> None:
        nonlocal least
        settle_norms(average, step, feed, batches, 0.7)
        errors = report(average, plain, held_out, bank, f"{note}, {speech.hours():.2f} h")
        if how.plain_steps == 0 and errors[0] > BROKEN * least:
            raise RuntimeError(f"the training broke down; {keep} has the weights before that")
        least = min(least, errors[0])
        size = network.size
        torch.save({"weights": {k: v.cpu() for k, v in average.state_dict().items()},
                    "priors": mean_posteriors(average, plain, speech).cpu(),
                    "size": (size.hidden, size.bottleneck, size.layers, size.stem, size.contexts),
                    "steps": number, "hours": speech.hours(),
                    "held_out_phone_error": errors}, keep)  # fmt: skip

    began, number = time.monotonic(), 0
    while (done := (time.monotonic() - began) / (60 * how.minutes)) < 1:
        for group in optimizer.param_groups:
            group["lr"] = rate_at(number, done, how)
        strength = min(1.0, done / how.easy) if how.easy else 1.0
        loss = loss_of(step, feed.next(), number, strength, how, rivals)
        step.learn(loss)
        nn.utils.clip_grad_norm_(network.parameters(), 5.0)
        optimizer.step()
        update_average(average, network, min(how.average, number / (number + 10)))
        number += 1
        if number % 50 == 0:
            bank.renew(first=32 * (number // 50 % 16))
        if number == 1:
            still = [name for name, p in network.named_parameters() if not p.grad.any()]
            if still:
                raise RuntimeError(f"no gradient reaches {still}")
        if number % how.report == 0:
            spent = time.monotonic() - began
            save(number, f"step {number}, {spent:.0f} s, strength {strength:.2f}, "
                         f"loss {loss.item():.3f}", batches=10)  # fmt: skip
    save(number, f"{number} steps", batches=150)


def main() -> None:
    """Read the arguments."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("--speech", type=Path, required=True,
                        help="folder of training shards, also of those yet to come")  # fmt: skip
    parser.add_argument("--held-out", type=Path, required=True, help="folder of held-out shards")
    parser.add_argument("--out", type=Path, required=True, help="file for weights and priors (.pt)")
    for name in ("minutes", "peak_rate", "easy", "seconds", "margin", "noisy"):
        default = getattr(Settings, name)
        parser.add_argument("--" + name.replace("_", "-"), type=float, default=default)
    for name in ("rows", "report", "seed"):
        parser.add_argument("--" + name, type=int, default=getattr(Settings, name))
    parser.add_argument("--criterion", choices=("ctc", "mmi"), default=Settings.criterion)
    parser.add_argument("--start", type=Path, help="go on from this file of an earlier training")
    parser.add_argument("--hidden", type=int, default=Size.hidden)
    parser.add_argument("--bottleneck", type=int, default=Size.bottleneck)
    parser.add_argument("--layers", type=int, default=Size.layers)
    parser.add_argument("--stem", type=int, default=len(Size.stem), help="layers at the 10 ms rate")
    parser.add_argument("--contexts", type=int, nargs="*", default=[],
                        help="layers at the 40 ms rate behind which the whole row is attended to")
    a = parser.parse_args()
    device = "cuda" if torch.cuda.is_available() else "cpu"
    held_out = Corpus()
    load(held_out, sorted(a.held_out.rglob("*.json")))
    how = Settings(a.minutes, a.rows, a.seconds, a.peak_rate, seed=a.seed, report=a.report,
                   criterion=a.criterion, margin=a.margin, easy=a.easy, noisy=a.noisy)  # fmt: skip
    size = Size(a.hidden, a.bottleneck, a.layers, (1,) * a.stem, tuple(a.contexts))
    network = Network(size).to(device)
    if a.start:
        begun = torch.load(a.start, weights_only=True)["weights"]
        missing, unknown = network.load_state_dict(begun, strict=False)
        if unknown or not all(name.startswith("contexts.") for name in missing):
            raise ValueError(f"{a.start} is of another network: {[*missing, *unknown][:5]}")
        how = replace(how, flat_steps=0, plain_steps=0)
    train(network, a.speech, held_out.all(), how, a.out)


if __name__ == "__main__":
    main()
