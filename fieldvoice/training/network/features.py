"""MFCC features as Kaldi (and so Vosk) computes them, in batches on any torch device.

Kaldi's settings: 25 ms Povey window every 10 ms (snip-edges), DC removed, pre-emphasis 0.97,
512-point power spectrum, 40 mel filters 20-7600 Hz, floored log, orthonormal DCT, lifter 22, all 40
cepstra, no energy.
"""

from __future__ import annotations

import math

import numpy as np
import torch
from torch import Tensor

RATE, WINDOW, HOP, FFT, MELS = 16_000, 400, 160, 512, 40
LOW_HZ, HIGH_HZ, LIFTER, FLOOR = 20.0, 7600.0, 22, 1.1920929e-07


def _mel(hertz: np.ndarray | float) -> np.ndarray:
    return 1127.0 * np.log1p(np.asarray(hertz) / 700.0)


def mel_filters(warp: float = 1.0) -> Tensor:
    """Triangular mel filters [MELS, FFT/2+1]; `warp` > 1 makes the vocal tract shorter."""
    low, high = _mel(LOW_HZ), _mel(HIGH_HZ)
    step = (high - low) / (MELS + 1)
    at = _mel(np.arange(FFT // 2) * RATE / FFT * warp)
    left = low + step * np.arange(MELS)[:, None]
    rise, fall = (at - left) / step, (left + 2 * step - at) / step
    filters = np.zeros((MELS, FFT // 2 + 1), np.float32)
    filters[:, :-1] = np.clip(np.minimum(rise, fall), 0, None)
    return torch.from_numpy(filters)


def _cosines() -> Tensor:
    k, n = torch.arange(MELS)[:, None], torch.arange(MELS)[None] + 0.5
    scale = torch.where(k == 0, math.sqrt(1 / MELS), math.sqrt(2 / MELS))
    lifter = 1 + 0.5 * LIFTER * torch.sin(math.pi * torch.arange(MELS) / LIFTER)
    return lifter[:, None] * scale * torch.cos(math.pi * k * n / MELS)


class Mfcc(torch.nn.Module):
    """Sound [batch, samples] (int16 scale) to MFCC [batch, frames, 40]; a warp for each row."""

    def __init__(self, warps: tuple[float, ...] = (1.0,)) -> None:
        super().__init__()
        n = torch.arange(WINDOW, dtype=torch.float64)
        povey = (0.5 - 0.5 * torch.cos(2 * math.pi * n / (WINDOW - 1))) ** 0.85
        self.register_buffer("window", povey.float())
        self.register_buffer("banks", torch.stack([mel_filters(w).T for w in warps]))
        self.register_buffer("cosines", _cosines().T.contiguous())

    def log_mel(self, sound: Tensor, bank: Tensor) -> Tensor:
        """Log mel energies [batch, frames, 40]; `bank` [batch] chooses each row's warp."""
        frames = sound.unfold(1, WINDOW, HOP)
        frames = frames - frames.mean(-1, keepdim=True)
        before = torch.cat([frames[..., :1], frames[..., :-1]], -1)
        power = torch.fft.rfft((frames - 0.97 * before) * self.window, FFT).abs().square()
        return torch.bmm(power, self.banks[bank]).clamp_min(FLOOR).log()

    def forward(self, sound: Tensor, bank: Tensor | None = None) -> Tensor:
        """MFCC of each row."""
        if bank is None:
            bank = torch.zeros(len(sound), dtype=torch.long, device=sound.device)
        return self.log_mel(sound, bank) @ self.cosines


def frame_count(samples: Tensor) -> Tensor:
    """Frames that Kaldi makes of so many samples (snip-edges)."""
    return torch.clamp((samples - WINDOW) // HOP + 1, min=0)
