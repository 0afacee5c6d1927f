"""Make synthetic speech sound like a job site: rooms, microphones, machines, babble, level.

All functions take and return sound [batch, samples] on any torch device, int16 scale where level
matters.
"""

from __future__ import annotations

import math

import torch
from torch import Tensor

RATE = 16_000


def uniform(like: Tensor, low: float, high: float | Tensor) -> Tensor:
    """One number a row, [batch, 1]."""
    return torch.rand(len(like), 1, device=like.device) * (high - low) + low


def chance(like: Tensor, probability: float | Tensor) -> Tensor:
    """One yes or no a row, [batch, 1] of 0.0 or 1.0."""
    return (torch.rand(len(like), 1, device=like.device) < probability).float()


def rms(sound: Tensor) -> Tensor:
    """Root mean square of each row, [batch, 1]."""
    return sound.square().mean(1, keepdim=True).sqrt() + 1e-6


def convolved(sound: Tensor, response: Tensor) -> Tensor:
    """Each row convolved with its own response, cut to the length of the sound."""
    size = 1 << (sound.shape[1] + response.shape[1] - 1).bit_length()
    spectrum = torch.fft.rfft(sound, size) * torch.fft.rfft(response, size)
    return torch.fft.irfft(spectrum, size)[:, : sound.shape[1]]


def room(sound: Tensor, strength: float | Tensor = 1.0) -> Tensor:
    """Convolve nearly half the rows with made-up room responses.

    Decay time 0.05-0.45 s; the tail lies 2-24 dB below the direct sound; some rows get a few early
    echoes.
    """
    length = 6400
    t = torch.arange(length, device=sound.device) / RATE
    tail = torch.randn(len(sound), length, device=sound.device)
    tail = tail * torch.exp(-6.9 * t / uniform(sound, 0.05, 0.45))
    tail = tail / (tail.square().sum(1, keepdim=True).sqrt() + 1e-6)
    tail = tail * 10 ** (-uniform(sound, 2, 24) / 20) * chance(sound, 0.45 * strength)
    early = (torch.rand(len(sound), length, device=sound.device) < 5 / 800) & (t < 0.05)
    echoes = early * torch.randn_like(tail).sign() * uniform(sound, 0.0, 0.4)
    response = tail + echoes * chance(sound, 0.3 * strength)
    response[:, 0] = 1.0
    return convolved(sound, response)


def microphone(sound: Tensor, strength: float | Tensor = 1.0) -> Tensor:
    """Colour each row: random equalization, at times a narrow (telephone, muffled) band.

    Strong and fine enough that a consonant's own spectrum cannot be relied on alone: one person's
    F has its peak where another's S has it, and then only loudness and the vowels around tell.
    """
    spectrum = torch.fft.rfft(sound)
    bins = spectrum.shape[1]
    hertz = torch.linspace(0, RATE / 2, bins, device=sound.device)
    points = (
        torch.randn(len(sound), 1, 14, device=sound.device)
        * uniform(sound, 0.0, 6.0 * strength)[..., None]
    )
    curve = torch.nn.functional.interpolate(points, size=512, mode="linear", align_corners=True)[
        :, 0
    ]
    place = (511 * torch.log1p(hertz / 100) / math.log1p(RATE / 200)).long().clamp(0, 511)
    gain = 10 ** (curve[:, place] / 20)
    high = torch.where(chance(sound, 0.25 * strength) > 0, uniform(sound, 3000, 7000), 1e5)
    low = torch.where(chance(sound, 0.25 * strength) > 0, uniform(sound, 50, 330), -1.0)
    band = torch.sigmoid((high - hertz) / 60) * torch.sigmoid((hertz - low) / 15)
    return torch.fft.irfft(spectrum * gain * (band + 0.001), n=sound.shape[1])


def coloured_noise(like: Tensor) -> Tensor:
    """Steady noise of random spectral tilt and a broad resonance (fans, flow, rain, traffic)."""
    white = torch.fft.rfft(torch.randn_like(like))
    hertz = torch.linspace(1, RATE / 2, white.shape[1], device=like.device)
    tilt = (hertz / 500) ** -uniform(like, -0.3, 1.6)
    centre, width = uniform(like, 100, 5000), uniform(like, 80, 1500)
    bump = 1 + uniform(like, 0, 6) * torch.exp(-(((hertz - centre) / width) ** 2))
    noise = torch.fft.irfft(white * tilt * bump, n=like.shape[1])
    return noise / rms(noise)


def machine_noise(like: Tensor) -> Tensor:
    """A rotating machine: harmonics of a shaft or mains rate, wandering, with beats and knocks."""
    t = torch.arange(like.shape[1], device=like.device) / RATE
    rate = uniform(like, 18, 125) * (1 + 0.01 * torch.sin(2 * math.pi * uniform(like, 0.1, 2) * t))
    phase = 2 * math.pi * torch.cumsum(rate / RATE, 1)
    hum = torch.zeros_like(like)
    falloff = uniform(like, 0.2, 1.2)
    for k in range(1, 25):
        weight = uniform(like, 0, 1) / k**falloff
        hum = hum + weight * torch.sin(k * phase + uniform(like, 0, 2 * math.pi))
    knock = (torch.sin(phase * 0.5).clamp_min(0) ** 20) * torch.randn_like(like)
    noise = hum / rms(hum) + uniform(like, 0, 1.5) * chance(like, 0.5) * knock / rms(knock)
    return noise / rms(noise)


def knocks(like: Tensor) -> Tensor:
    """Tools and fittings: knocks from one in three seconds to twenty a second, each ringing out."""
    blows = (torch.rand_like(like) < 10 ** uniform(like, -0.5, 1.3) / RATE) * torch.randn_like(like)
    t = torch.arange(8000, device=like.device) / RATE
    ring = torch.zeros(len(like), len(t), device=like.device)
    for _ in range(3):
        tone = torch.sin(2 * math.pi * uniform(like, 200, 6000) * t)
        ring = ring + tone * torch.exp(-t * 10 ** uniform(like, 1.2, 2.7))
    sound = convolved(blows, ring)
    return sound / rms(sound)


def site_noise(like: Tensor) -> Tensor:
    """A mixture of steady and machine noise and knocks, sometimes swelling, of unit level."""
    share = uniform(like, 0, 1) * chance(like, 0.7)
    noise = coloured_noise(like) * (1 - share) + machine_noise(like) * share
    t = torch.arange(like.shape[1], device=like.device) / RATE
    swell = 1 + uniform(like, 0.2, 0.9) * chance(like, 0.4) * torch.sin(
        2 * math.pi * uniform(like, 0.1, 12) * t + uniform(like, 0, 6.28)
    )
    noise = noise * swell + knocks(like) * uniform(like, 0.2, 2.0) * chance(like, 0.2)
    return noise / rms(noise)


def babble(speech: Tensor) -> Tensor:
    """Other rows of the batch talking at once, of unit level."""
    order = torch.rand(3, len(speech), device=speech.device).argsort(1)
    talk = sum((speech[o] / rms(speech[o]) for o in order), torch.zeros_like(speech))
    return talk / rms(talk)


class NoiseBank:
    """Ready-made site noise to cut from: making it for every batch would take most of the time."""

    def __init__(self, device: torch.device, rows: int = 512, seconds: int = 16) -> None:
        self.noise = torch.empty(rows, seconds * RATE, device=device)
        for first in range(0, rows, 32):
            self.renew(first)

    def renew(self, first: int, count: int = 32) -> None:
        """Replace some rows with new noise."""
        self.noise[first : first + count] = site_noise(self.noise[first : first + count])

    def cut(self, like: Tensor) -> Tensor:
        """Noise for each row of `like`, from a random place, of unit level."""
        rows, samples = like.shape
        if samples > self.noise.shape[1]:
            return site_noise(like)
        row = torch.randint(len(self.noise), (rows, 1), device=like.device)
        start = torch.randint(self.noise.shape[1] - samples + 1, (rows, 1), device=like.device)
        noise = self.noise[row, start + torch.arange(samples, device=like.device)]
        return noise / rms(noise)


def site(speech: Tensor, level: Tensor, bank: NoiseBank, strength: float | Tensor = 1.0) -> Tensor:
    """The whole chain on clean speech whose level while speaking is `level` [batch, 1].

    Signal-to-noise ratio: two rows in five -2 to 14 dB, two 12-40 dB, one nearly clean.
    `strength` 0..1 eases the beginning of training: less room and colour, and less noise by up to
    25 dB.
    """
    sound = microphone(room(speech, strength), strength)
    noise = bank.cut(sound)
    noise = noise + babble(speech) * uniform(sound, 0.1, 0.7) * chance(sound, 0.15)
    decibels = uniform(sound, 12, 40)
    decibels = torch.where(chance(sound, 0.5) > 0, uniform(sound, -2, 14), decibels)
    decibels = torch.where(chance(sound, 0.2) > 0, uniform(sound, 40, 90), decibels)
    decibels = decibels + 25 * (1 - strength)
    sound = sound + noise / rms(noise) * level * 10 ** (-decibels / 20)
    peak = sound.abs().amax(1, keepdim=True) + 1.0
    gain = 10 ** (uniform(sound, -38, 6) / 20) * 32767 / peak
    sound = (sound * gain).clamp(-32768, 32767)  # above 0 dB it clips, as cheap microphones do
    dither = torch.randn_like(sound) * uniform(sound, 0.0, 2.0) * chance(sound, 0.7)
    return (sound + dither).round()
