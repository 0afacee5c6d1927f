"""Train the acoustic network by CTC: `python -m fieldvoice.acoustic.train --help`."""

from __future__ import annotations

import argparse
import copy
import math
import random
import time
from dataclasses import dataclass, replace
from pathlib import Path

import torch
from torch import Tensor, nn

from fieldvoice.acoustic import augment
from fieldvoice.acoustic.corpus import (
    MARGIN,
    Batch,
    Corpus,
    load,
    plain_batch,
    training_batch,
)
from fieldvoice.acoustic.features import HOP, Mfcc, frame_count
from fieldvoice.acoustic.network import BLANK, PHONES, SUBSAMPLING, Network, Size, parameters

WARPS = tuple(round(0.88 + 0.02 * k, 2) for k in range(14))  # vocal-tract lengths, 1.0 among them


@dataclass(frozen=True)
class Settings:
    """How long and how hard to train."""

    minutes: float = 10.0
    batch: int = 256
    peak_rate: float = 1.2e-3
    weight_decay: float = 1e-3
    average: float = 0.999  # of the weights, exponentially
    seed: int = 1
    report: int = 1000  # steps between two lines on the held-out errors
    flat_steps: int = 250  # of flat start
    plain_steps: int = 1000  # up to which utterances come one by one and nearly clean
    easy: float = 0.35  # share of the time over which the augmentation then grows to full strength


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


def output_lengths(samples: list[int], longest: int, device: torch.device) -> Tensor:
    """Network outputs that belong to each row."""
    frames = frame_count(torch.tensor(samples, device=device))
    return torch.clamp((frames + SUBSAMPLING - 1) // SUBSAMPLING, max=longest)


def loss_of(
    network: nn.Module, mfcc: Mfcc, batch: Batch, bank: augment.NoiseBank, strength: float
) -> Tensor:
    """CTC loss of an augmented batch."""
    with torch.no_grad():
        sound = augment.site(batch.sound, batch.level, bank, strength)
        warped = torch.rand(len(sound), device=sound.device) < 0.6 * strength
        banks = torch.randint(len(WARPS), (len(sound),), device=sound.device)
        banks = torch.where(warped, banks, WARPS.index(1.0))
        features = mask(mfcc.log_mel(sound, banks)) @ mfcc.cosines
    with torch.autocast(sound.device.type, torch.bfloat16, enabled=sound.device.type == "cuda"):
        scores = network(features)
    log_probs = scores.float().log_softmax(-1).transpose(0, 1)
    lengths = output_lengths(batch.samples, len(log_probs), sound.device)
    flat = torch.tensor([p for t in batch.targets for p in t], device=sound.device)
    sizes = torch.tensor([len(t) for t in batch.targets], device=sound.device)
    return nn.functional.ctc_loss(log_probs, flat, lengths, sizes, BLANK, zero_infinity=True)


def flat_start_loss(network: nn.Module, mfcc: Mfcc, batch: Batch) -> Tensor:
    """Cross-entropy against phones spread evenly over each utterance of a `plain_batch`.

    CTC from random weights first learns to say blank everywhere and leaves that only slowly; a
    minute of this rough alignment carries it past. The true alignment is then found by CTC alone.
    """
    scores = network(mfcc(batch.sound + torch.randn_like(batch.sound)))
    labels = torch.full(scores.shape[:2], BLANK, dtype=torch.long)
    for row, (samples, target) in enumerate(zip(batch.samples, batch.targets, strict=True)):
        first, last = MARGIN // (HOP * SUBSAMPLING), (samples - MARGIN) // (HOP * SUBSAMPLING)
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


@torch.no_grad()
def settle_norms(
    average: nn.Module,
    mfcc: Mfcc,
    speech: Corpus,
    bank: augment.NoiseBank,
    batches: int,
    strength: float,
) -> None:
    """Measure the normalizations afresh for the averaged weights, on augmented speech.

    The running statistics belong to the current weights; with averaged ones they can be far off.
    """
    norms = [m for m in average.modules() if isinstance(m, nn.BatchNorm1d)]
    for norm in norms:
        norm.reset_running_stats()
        norm.momentum = None  # a plain mean over all that follow
    average.train()
    rng = random.Random(5)
    by_length = sorted(range(len(speech.lengths)), key=lambda i: speech.lengths[i])
    for _ in range(batches):
        batch = training_batch(speech, pick_rows(by_length, 128, rng), rng)
        average(mfcc(augment.site(batch.sound, batch.level, bank, strength)))
    average.eval()


def edits(said: list[int], heard: list[int]) -> int:
    """Edit distance."""
    row = list(range(len(heard) + 1))
    for i, s in enumerate(said, 1):
        diagonal, row[0] = row[0], i
        for j, h in enumerate(heard, 1):
            diagonal, row[j] = row[j], min(row[j] + 1, row[j - 1] + 1, diagonal + (s != h))
    return row[-1]


def best_path(scores: Tensor) -> list[int]:
    """Collapse the likeliest labels: repeats merged, blanks dropped."""
    merged = torch.unique_consecutive(scores.argmax(-1)).tolist()
    return [p for p in merged if p != BLANK]


@torch.no_grad()
def phone_error(
    network: nn.Module, mfcc: Mfcc, corpus: Corpus, bank: augment.NoiseBank | None = None
) -> float:
    """Phone error rate on up to 400 held-out utterances, clean or (given a bank) as on site."""
    network.eval()
    wrong = total = 0
    for first in range(0, min(400, len(corpus.lengths)), 100):
        batch = plain_batch(corpus, list(range(first, min(first + 100, len(corpus.lengths)))))
        sound = augment.site(batch.sound, batch.level, bank) if bank else batch.sound
        scores = network(mfcc(sound + torch.randn_like(sound)))
        lengths = output_lengths(batch.samples, scores.shape[1], sound.device)
        for row, target in enumerate(batch.targets):
            wrong += edits(target, best_path(scores[row, : lengths[row]]))
            total += len(target)
    return wrong / max(1, total)


@torch.no_grad()
def mean_posteriors(network: nn.Module, mfcc: Mfcc, corpus: Corpus, count: int = 4000) -> Tensor:
    """Average output probabilities over clean training speech: the label priors."""
    network.eval()
    total = torch.zeros(len(PHONES) + 1, device=corpus.sound.device, dtype=torch.float64)
    picks = random.Random(3).sample(range(len(corpus.lengths)), min(count, len(corpus.lengths)))
    for first in range(0, len(picks), 100):
        batch = plain_batch(corpus, picks[first : first + 100])
        scores = network(mfcc(batch.sound + torch.randn_like(batch.sound))).softmax(-1)
        lengths = output_lengths(batch.samples, scores.shape[1], scores.device)
        for row, n in enumerate(lengths.tolist()):
            total += scores[row, :n].double().sum(0)
    return (total / total.sum()).float()


def pick_rows(by_length: list[int], size: int, rng: random.Random) -> list[int]:
    """A random batch of utterances of like length, so that little is padding."""
    window = min(len(by_length), size * 8)
    first = rng.randint(0, len(by_length) - window)
    return rng.sample(by_length[first : first + window], min(size, window))


def rate_at(step: int, done: float, how: Settings) -> float:
    """Learning rate: a short climb, then half a cosine over the share `done` of the time."""
    return how.peak_rate * min(1, (step + 1) / 300) * (0.5 * (1 + math.cos(math.pi * done)) + 0.002)


def step_loss(
    network: nn.Module, mfcc: Mfcc, speech: Corpus, picks: list[int], bank: augment.NoiseBank,
    how: Settings, step: int, strength: float, rng: random.Random,
) -> Tensor:  # fmt: skip
    """Loss of one step: flat start, then plain utterances, then the whole augmentation."""
    if step < how.flat_steps:
        return flat_start_loss(network, mfcc, plain_batch(speech, picks))
    if step < how.plain_steps:
        return loss_of(network, mfcc, plain_batch(speech, picks), bank, strength=0.0)
    return loss_of(network, mfcc, training_batch(speech, picks, rng), bank, strength)


def train(network: Network, speech: Corpus, held_out: Corpus, how: Settings) -> dict[str, object]:
    """Train for the given minutes; returns averaged weights, priors, size, held-out errors."""
    torch.manual_seed(how.seed)
    torch.set_float32_matmul_precision("high")
    rng, device = random.Random(how.seed), speech.sound.device
    mfcc, plain = Mfcc(WARPS).to(device), Mfcc().to(device)
    average = copy.deepcopy(network).eval()
    bank = augment.NoiseBank(device)
    optimizer = torch.optim.AdamW(network.parameters(), lr=1e-3, weight_decay=how.weight_decay)
    by_length = sorted(range(len(speech.lengths)), key=lambda i: speech.lengths[i])
    print(
        f"{parameters(network) / 1e6:.2f} M parameters, {speech.hours():.2f} h of speech",
        flush=True,
    )
    began, step = time.monotonic(), 0
    while (done := (time.monotonic() - began) / (60 * how.minutes)) < 1:
        for group in optimizer.param_groups:
            group["lr"] = rate_at(step, done, how)
        network.train()
        strength = min(1.0, done / how.easy) if how.easy else 1.0
        picks = pick_rows(by_length, how.batch, rng)
        loss = step_loss(network, mfcc, speech, picks, bank, how, step, strength, rng)
        optimizer.zero_grad(set_to_none=True)
        loss.backward()
        nn.utils.clip_grad_norm_(network.parameters(), 5.0)
        optimizer.step()
        update_average(average, network, min(how.average, step / (step + 10)))
        step += 1
        if step % 50 == 0:
            bank.renew(first=32 * (step // 50 % 16))
        if step % how.report == 0:
            settle_norms(average, plain, speech, bank, 15, strength)
            clean, noisy = (phone_error(average, plain, held_out, b) for b in (None, bank))
            spent = time.monotonic() - began
            print(f"step {step}, {spent:.0f} s, strength {strength:.2f}, loss {loss.item():.3f}, "
                  f"held-out phone errors {clean:.2%} clean, {noisy:.2%} on site",
                  flush=True)  # fmt: skip
    settle_norms(average, plain, speech, bank, 150, 0.7)
    size = network.size
    errors = [phone_error(average, plain, held_out, b) for b in (None, bank)]
    print(
        f"{step} steps, held-out phone errors {errors[0]:.2%} clean, {errors[1]:.2%} on site",
        flush=True,
    )
    return {
        "weights": {k: v.cpu() for k, v in average.state_dict().items()},
        "priors": mean_posteriors(average, plain, speech).cpu(),
        "size": (size.hidden, size.bottleneck, size.layers, size.stem),
        "steps": step,
        "hours": speech.hours(),
        "held_out_phone_error": errors,
    }


def main() -> None:
    """Read the arguments."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--speech", type=Path, required=True, help="folder of training shards")
    parser.add_argument("--held-out", type=Path, required=True, help="folder of held-out shards")
    parser.add_argument("--out", type=Path, required=True, help="file for weights and priors (.pt)")
    parser.add_argument("--minutes", type=float, default=10.0)
    parser.add_argument("--batch", type=int, default=Settings.batch)
    parser.add_argument("--peak-rate", type=float, default=Settings.peak_rate)
    parser.add_argument("--easy", type=float, default=Settings.easy)
    parser.add_argument("--start", type=Path, help="go on from this file of an earlier training")
    parser.add_argument("--hidden", type=int, default=512)
    parser.add_argument("--bottleneck", type=int, default=128)
    parser.add_argument("--layers", type=int, default=10)
    a = parser.parse_args()
    device = "cuda" if torch.cuda.is_available() else "cpu"
    speech, held_out = Corpus.of(load(a.speech), device), Corpus.of(load(a.held_out), device)
    how = Settings(a.minutes, a.batch, a.peak_rate, easy=a.easy)
    network = Network(Size(a.hidden, a.bottleneck, a.layers)).to(device)
    if a.start:
        network.load_state_dict(torch.load(a.start, weights_only=True)["weights"])
        how = replace(how, flat_steps=0, plain_steps=0)
    torch.save(train(network, speech, held_out, how), a.out)


if __name__ == "__main__":
    main()
