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

    Decay time 0.05-0.5 s, in one row of five to 1.0 s; the tail lies 0-24 dB below the direct
    sound; some rows get a few early echoes.
    """
    length = 12_800
    t = torch.arange(length, device=sound.device) / RATE
    tail = torch.randn(len(sound), length, device=sound.device)
    decay = uniform(sound, 0.05, 0.5)
    decay = torch.where(chance(sound, 0.2 * strength) > 0, uniform(sound, 0.4, 1.0), decay)
    tail = tail * torch.exp(-6.9 * t / decay)
    tail = tail / (tail.square().sum(1, keepdim=True).sqrt() + 1e-6)
    tail = tail * 10 ** (-uniform(sound, 0, 24) / 20) * chance(sound, 0.45 * strength)
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
    return ringing_blows(like, (-0.5, 1.3), 8000, 3, (200, 6000), (1.2, 2.7))


def ringing_blows(
    like: Tensor, often: tuple[float, float], samples: int, tones: int,
    hertz: tuple[float, float], decay: tuple[float, float],
) -> Tensor:  # fmt: skip
    """Blows that ring out for so many samples in so many tones, of unit level.

    `often`: a second, `decay`: a second, both as powers of ten.
    """
    blows = (torch.rand_like(like) < 10 ** uniform(like, *often) / RATE) * torch.randn_like(like)
    t = torch.arange(samples, device=like.device) / RATE
    ring = torch.zeros(len(like), len(t), device=like.device)
    for _ in range(tones):
        tone = torch.sin(2 * math.pi * uniform(like, *hertz) * t)
        ring = ring + tone * torch.exp(-t * 10 ** uniform(like, *decay))
    sound = convolved(blows, ring)
    return sound / rms(sound)


def engine_noise(like: Tensor) -> Tensor:
    """A small petrol engine: a burst of broad noise each firing, its rate going up and down."""
    t = torch.arange(like.shape[1], device=like.device) / RATE
    rate = uniform(like, 40, 170)
    rate = rate * (1 + uniform(like, 0, 0.5) * torch.sin(
        2 * math.pi * uniform(like, 0.05, 0.6) * t + uniform(like, 0, 6.28)))  # fmt: skip
    phase = torch.cumsum(rate / RATE, 1)
    burst = torch.exp(-uniform(like, 3, 14) * torch.remainder(phase, 1.0))
    noise = burst * (coloured_noise(like) + uniform(like, 0.2, 2.0))
    noise = noise - noise.mean(1, keepdim=True)
    return noise / rms(noise)


def rain_noise(like: Tensor) -> Tensor:
    """Drops on metal: very many small blows, each ringing out shortly, over a hiss."""
    rain = ringing_blows(like, (1.3, 3.0), 2400, 4, (700, 7000), (1.7, 2.8))
    noise = rain + coloured_noise(like) * uniform(like, 0.1, 0.8)
    return noise / rms(noise)


def music(like: Tensor) -> Tensor:
    """Chords that change, with overtones, over a beat: a radio on the site."""
    t = torch.arange(like.shape[1], device=like.device) / RATE
    beat = uniform(like, 1.2, 3.2) * t + uniform(like, 0, 1)
    steps = torch.randint(-12, 13, (len(like), 64), device=like.device)
    bar = (beat / 2).long().clamp(0, 63)
    sound = torch.zeros_like(like)
    for voice in (0, 4, 7):
        note = steps.gather(1, bar).float() + voice
        hertz = uniform(like, 110, 330) * 2 ** (note / 12)
        phase = 2 * math.pi * torch.cumsum(hertz / RATE, 1)
        for k in range(1, 7):
            sound = sound + uniform(like, 0, 1) / k * torch.sin(k * phase)
    drum = torch.exp(-uniform(like, 5, 25) * torch.remainder(beat, 1.0)) * torch.randn_like(like)
    noise = sound / rms(sound) + uniform(like, 0, 1.5) * drum / rms(drum)
    return noise / rms(noise)


def site_noise(like: Tensor) -> Tensor:
    """Steady and machine noise and knocks, in one row of three an engine, rain or music among or
    instead of them; sometimes swelling; of unit level.
    """
    share = uniform(like, 0, 1) * chance(like, 0.7)
    noise = coloured_noise(like) * (1 - share) + machine_noise(like) * share
    for other in (engine_noise, rain_noise, music):
        much = uniform(like, 0.3, 6) * chance(like, 0.13)
        noise = noise / rms(noise) + much * other(like)
    t = torch.arange(like.shape[1], device=like.device) / RATE
    swell = 1 + uniform(like, 0.2, 0.9) * chance(like, 0.4) * torch.sin(
        2 * math.pi * uniform(like, 0.1, 12) * t + uniform(like, 0, 6.28)
    )
    noise = noise * swell + knocks(like) * uniform(like, 0.2, 2.0) * chance(like, 0.2)
    return noise / rms(noise)


def passing(noise: Tensor) -> Tensor:
    """One row in six from a source that drives by: loudest once, falling off with its distance."""
    t = torch.arange(noise.shape[1], device=noise.device) / RATE
    nearest = uniform(noise, -0.2, 1.2) * noise.shape[1] / RATE
    seconds = 10 ** uniform(noise, -0.3, 0.8)  # from nearest until it is 3 dB softer
    gain = (1 + ((t - nearest) / seconds) ** 2).rsqrt()
    passed = noise * gain
    return torch.where(chance(noise, 1 / 6) > 0, passed / rms(passed), noise)


def babble(speech: Tensor) -> Tensor:
    """Other rows of the batch talking at once, of unit level."""
    order = torch.rand(5, len(speech), device=speech.device).argsort(1)
    talk = sum((speech[o].roll(7919 * k, 1) / rms(speech[o]) for k, o in enumerate(order)),
               torch.zeros_like(speech))  # fmt: skip
    return talk / rms(talk)


def shouted(sound: Tensor, strength: float | Tensor) -> Tensor:
    """One row in ten as if called out: 1 to 4 kHz up to 12 dB louder, soft sounds lifted."""
    spectrum = torch.fft.rfft(sound)
    hertz = torch.linspace(1, RATE / 2, spectrum.shape[1], device=sound.device)
    lift = uniform(sound, 0, 12) * chance(sound, 0.1 * strength)
    rise = torch.exp(-((torch.log2(hertz / 2200) / 1.3) ** 2))
    return torch.fft.irfft(spectrum * 10 ** (lift * rise / 20), n=sound.shape[1])


def gain_steps(sound: Tensor, strength: float | Tensor) -> Tensor:
    """One row in six as through an automatic gain: up to 10 dB up or down, within 20 ms to 1 s."""
    knots = sound.shape[1] // 12_000 + 2
    levels = torch.randn(len(sound), 1, knots, device=sound.device)
    sharp = torch.nn.functional.interpolate(levels, size=sound.shape[1] // 320, mode="nearest")
    soft = torch.nn.functional.interpolate(levels, size=sound.shape[1] // 320, mode="linear")
    steps = torch.where(chance(sound, 0.5)[..., None] > 0, sharp, soft)
    curve = torch.nn.functional.interpolate(steps, size=sound.shape[1], mode="linear")[:, 0]
    size = uniform(sound, 1, 6) * chance(sound, 0.16 * strength)
    return sound * 10 ** ((curve.clamp(-1.7, 1.7) * size) / 20)


def telephone(sound: Tensor, strength: float | Tensor) -> Tensor:
    """One row in eight as of half the sampling rate, half of these in 255 steps (mu-law, G.711)."""
    spectrum = torch.fft.rfft(sound)
    spectrum[:, spectrum.shape[1] // 2 :] = 0
    narrow = torch.fft.irfft(spectrum, n=sound.shape[1]).clamp(-32768, 32767) / 32768
    coded = narrow.sign() * (1 + 255 * narrow.abs()).log() / math.log(256)
    coded = (coded * 127).round() / 127
    heard = coded.sign() * ((coded.abs() * math.log(256)).exp() - 1) / 255
    heard = torch.where(chance(sound, 0.5) > 0, heard, narrow) * 32768
    return torch.where(chance(sound, 0.12 * strength) > 0, heard, sound)


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


def site(
    speech: Tensor, level: Tensor, bank: NoiseBank, strength: float | Tensor = 1.0,
    noisy: float = 0.5,
) -> Tensor:  # fmt: skip
    """The whole chain on clean speech whose level while speaking is `level` [batch, 1].

    Signal-to-noise ratio: one row in five nearly clean, of the others the share `noisy` -2 to 14 dB
    and the rest 12-40 dB. One row in seven is too loud for the microphone by up to 18 dB; in one of
    twelve a gate shuts between the lines, which are then cut tight, to nothing at all. `strength`
    0..1 eases the beginning of training: less room and colour, and less noise by up to 25 dB.
    """
    sound = microphone(shouted(room(speech, strength), strength), strength)
    noise = bank.cut(sound)
    noise = noise + babble(speech) * uniform(sound, 0.1, 0.7) * chance(sound, 0.15)
    noise = torch.where(chance(sound, 0.08 * strength) > 0, babble(speech), noise)
    noise = passing(noise)
    decibels = uniform(sound, 12, 40)
    decibels = torch.where(chance(sound, noisy) > 0, uniform(sound, -2, 14), decibels)
    decibels = torch.where(chance(sound, 0.2) > 0, uniform(sound, 40, 90), decibels)
    decibels = decibels + 25 * (1 - strength)
    sound = sound + noise / rms(noise) * level * 10 ** (-decibels / 20)
    sound = gain_steps(sound, strength)
    peak = sound.abs().amax(1, keepdim=True) + 1.0
    over = torch.where(chance(sound, 0.14 * strength) > 0, uniform(sound, 3, 18),
                       uniform(sound, -38, 4))  # fmt: skip
    sound = (sound * 10 ** (over / 20) * 32767 / peak).clamp(-32768, 32767)  # loud sound clips
    sound = telephone(sound, strength)
    dither = torch.randn_like(sound) * uniform(sound, 0.0, 2.0) * chance(sound, 0.7)
    shut = chance(sound, 0.08 * strength) * (1 - near_speech(speech))
    return ((sound + dither) * (1 - shut)).round().clamp(-32768, 32767)


def near_speech(speech: Tensor) -> Tensor:
    """1.0 while someone speaks, to within 10 to 20 ms, and in pauses under a quarter second."""
    pool = torch.nn.functional.max_pool1d
    loud = (speech.abs() > 0.01 * speech.abs().amax(1, keepdim=True)).float()[:, None]
    frames = pool(loud, 160, ceil_mode=True)  # of 10 ms
    wide = pool(frames, 25, stride=1, padding=12)
    near = -pool(-wide, 23, stride=1, padding=11)
    return near.repeat_interleave(160, 2)[:, 0, : speech.shape[1]]
