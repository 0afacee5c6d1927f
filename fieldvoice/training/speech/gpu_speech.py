"""Speak a script on a GPU: `python -m fieldvoice.training.speech.gpu_speech`.

The folder of the synthesizer holds model.pt (made by onnx_in_torch.py), vocab.json and voices/*.bin
(style vectors [length, 256], float32; the first half gives the timbre, the second the prosody).
Several workers share a script: ten spoke 16 hours in ten minutes on one H100, 2 GB each.
With --held-out only the voices that are kept out of training speak, plainly: test sets.
"""

from __future__ import annotations

import argparse
import itertools
import json
import random
import time
from pathlib import Path

import numpy as np
import torch
from numpy.typing import NDArray
from torch import Tensor

from fieldvoice.training.speech.accents import ACCENTS, accented
from fieldvoice.training.speech.habits import hesitant, mumbled, native
from fieldvoice.training.speech.onnx_in_torch import Model
from fieldvoice.training.speech.script import Line, read
from fieldvoice.training.speech.shards import About, Utterance, write_shard
from fieldvoice.training.speech.symbols import HELD_OUT, kokoro_symbols

RATE_IN, RATE_OUT = 24_000, 16_000
SHARD = 200  # utterances a file
PEAK = 0.7 * 32767
TIMBRE = 128  # numbers of a style that are its timbre
ACCENTED = 0.45  # share of the training lines that are said with an accent


def resample(sound: Tensor, faster: float) -> Tensor:
    """24 to 16 kHz through the spectrum, `faster` times as fast (pitch and formants rise too)."""
    size = len(sound) + (-len(sound)) % 600
    target = 2 * round(size * RATE_OUT / RATE_IN / faster / 2)
    spectrum = torch.fft.rfft(sound, size)
    return torch.fft.irfft(spectrum[: target // 2 + 1], target)


class Studio:
    """All voices that may be trained on, and new ones mixed of them; or those held out."""

    def __init__(self, folder: Path, device: str, held_out: bool = False) -> None:
        self.model = Model(folder / "model.pt", device)
        self.vocabulary: dict[str, int] = json.loads((folder / "vocab.json").read_text())["vocab"]
        self.styles = {p.stem: torch.from_numpy(np.fromfile(p, "<f4").reshape(-1, 256))
                       for p in sorted((folder / "voices").glob("*.bin"))
                       if (p.stem in HELD_OUT) == held_out}  # fmt: skip
        self.english = [name for name in self.styles if name[0] in "ab"]
        self.spread = torch.stack(list(self.styles.values())).std(0)  # [length, 256], of the voices

    def style(self, length: int, rng: random.Random, first_letters: str) -> tuple[Tensor, str]:
        """A voice, a blend of two or three (at times beyond them), or one's timbre on another's
        prosody; half of them moved a little at random, as no two people are alike.
        """
        wanted = [name for name in self.styles if name[0] in first_letters]
        pool = wanted or (self.english if rng.random() < 0.7 else list(self.styles))
        first, second = rng.choice(pool), rng.choice(list(self.styles))
        third = rng.choice(list(self.styles))
        a, b, c = (self.styles[name][length] for name in (first, second, third))
        kind = rng.random()
        if kind < 0.3:
            found, name = a, first
        elif kind < 0.45:
            found, name = torch.cat([b[:TIMBRE], a[TIMBRE:]]), f"{second}|{first}"
        elif kind < 0.85:
            share = rng.uniform(0.2, 0.8) if kind < 0.75 else rng.choice([-0.25, 1.25])
            found, name = a + share * (b - a), f"{first}+{share:.2f}*{second}"
        else:
            x, y = sorted((rng.random(), rng.random()))
            found, name = x * a + (y - x) * b + (1 - y) * c, f"{first}+{second}+{third}"
        if rng.random() < 0.5:
            noise = torch.tensor([rng.gauss(0, 0.35) for _ in range(256)])
            found, name = found + noise * self.spread[length], name + "~"
        return found, name

    def speak(self, line: Line, rng: random.Random) -> Utterance:
        """Speak at a random pace, half the time with pitch and formants moved."""
        name = rng.choice(list(ACCENTS)) if rng.random() < ACCENTED else ""
        accent = ACCENTS.get(name)
        phones = [said for _, said in line]
        if accent:
            symbols = accented(phones, accent, rng, rng.uniform(0.4, 1.0))
        else:
            symbols = native(kokoro_symbols(phones), rng)
        symbols = hesitant(mumbled(symbols, rng), rng)
        letters = "".join(accent.voices) if accent and rng.random() < 0.6 else ""
        style, voice = self.style(self._length(symbols), rng, letters)
        faster = rng.choice([1.0, rng.uniform(0.86, 1.18)])
        pace = rng.choice([rng.uniform(0.85, 1.25), rng.uniform(0.65, 1.6)]) / faster
        return self._said(line, symbols, style, pace, faster, f"{voice}/{name}" if name else voice)

    def speak_plainly(self, line: Line, rng: random.Random, accent: str) -> Utterance:
        """Speak in one voice as it is, at a usual pace, with the accent named, or none."""
        phones = [said for _, said in line]
        symbols = accented(phones, ACCENTS[accent], rng) if accent else kokoro_symbols(phones)
        voice = rng.choice(list(self.styles))
        style = self.styles[voice][self._length(symbols)]
        name = f"{voice}/{accent}" if accent else voice
        return self._said(line, symbols, style, rng.uniform(0.85, 1.25), 1.0, name)

    def _length(self, symbols: str) -> int:
        return min(len(symbols), len(self.spread) - 1)

    def _said(
        self, line: Line, symbols: str, style: Tensor, pace: float, faster: float, voice: str
    ) -> Utterance:
        tokens = [self.vocabulary[c] for c in symbols]
        sound = self.model(torch.tensor([[0, *tokens, 0]]), style[None], torch.tensor([pace]))
        sound = resample(sound, faster)
        pcm = (sound * (PEAK / sound.abs().max().clamp_min(1e-3))).to(torch.int16).cpu().numpy()
        words, phones = [word for word, _ in line], [said for _, said in line]
        return Utterance(pcm, About.unstressed(words, phones, f"kokoro:{voice}"))


def sane(sound: NDArray[np.int16], symbols: int) -> bool:
    """Whether length and level are those of speech (styles beyond two voices may break down)."""
    seconds = len(sound) / RATE_OUT
    return 0.02 * symbols + 0.2 < seconds < 0.4 * symbols + 4 and float(np.abs(sound).mean()) > 150


def main() -> None:
    """Read the arguments."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("--script", type=Path, required=True)
    parser.add_argument("--synthesizer", type=Path, required=True, help="its folder")
    parser.add_argument("--out", type=Path, required=True, help="folder for the shards")
    parser.add_argument("--device", default="cuda")
    parser.add_argument("--worker", type=int, default=0, help="this one's number")
    parser.add_argument("--workers", type=int, default=1)
    parser.add_argument("--seconds", type=float, default=600.0)
    parser.add_argument("--held-out", action="store_true", help="speak a test set")
    parser.add_argument("--accent", choices=sorted(ACCENTS), default="", help="of a test set")
    parser.add_argument("--name", default="gpu", help="what the files' names begin with")
    a = parser.parse_args()
    torch.set_num_threads(1)
    a.out.mkdir(parents=True, exist_ok=True)
    studio, rng = Studio(a.synthesizer, a.device, a.held_out), random.Random(1000 + a.worker)
    own = itertools.islice(read(a.script), a.worker, None, a.workers)
    began, spoken_s = time.monotonic(), 0.0
    for shard in itertools.count():
        lines = itertools.islice(own, SHARD)
        spoken = ([studio.speak_plainly(line, rng, a.accent) for line in lines] if a.held_out
                  else [studio.speak(line, rng) for line in lines])  # fmt: skip
        good = [u for u in spoken if sane(u.sound, sum(map(len, u.about.phones)))]
        if good:
            write_shard(a.out / f"{a.name}-{a.worker:02d}-{shard:04d}", good, packed=a.held_out)
        spoken_s += sum(len(u.sound) for u in good) / RATE_OUT
        spent = time.monotonic() - began
        print(f"worker {a.worker}: {spoken_s / 3600:.2f} h in {spent:.0f} s, "
              f"{len(spoken) - len(good)} of {len(spoken)} left out", flush=True)  # fmt: skip
        if len(spoken) < SHARD or spent > a.seconds:
            return


if __name__ == "__main__":
    main()
