"""Synthesizers that speak the training text, each a callable from words to 16 kHz sound."""

from __future__ import annotations

import json
import random
import subprocess
import tempfile
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Protocol

import numpy as np
import soundfile
from numpy.typing import NDArray
from scipy.signal import resample_poly

from fieldvoice.training.speech.symbols import kokoro_symbols

Sound = NDArray[np.float32]
RATE = 16_000

KOKORO_LONGEST = 500  # symbols an utterance; style vectors are chosen by length


@dataclass(frozen=True)
class Spoken:
    """One utterance: float sound in -1..1 at 16 kHz, and the name of the voice that spoke it."""

    sound: Sound
    voice: str


class Synthesizer(Protocol):
    """Speaks `words`, pronounced as `phones` say (a list a word), in a voice it picks."""

    def __call__(self, words: list[str], phones: list[list[str]], rng: random.Random) -> Spoken:
        """Return the sound, at 16 kHz."""
        ...


def at_16k(sound: Sound, rate: int) -> Sound:
    """Resample to 16 kHz and scale to a peak of 0.7."""
    common = np.gcd(rate, RATE)
    sound = resample_poly(sound, RATE // common, rate // common) if rate != RATE else sound
    return (sound / max(1e-3, float(np.abs(sound).max())) * 0.7).astype(np.float32)


class Kokoro:
    """The Kokoro neural voice model (82 M parameters): a style vector of it or a blend of two."""

    def __init__(
        self,
        folder: Path,
        held_out: set[str],
        only: set[str] | None = None,
        pace: tuple[float, float] = (0.65, 1.5),
    ) -> None:
        """Load model.onnx, vocab.json and voices/*.bin; never use the `held_out` voices."""
        self.pace = pace
        import onnxruntime

        options = onnxruntime.SessionOptions()
        options.intra_op_num_threads = options.inter_op_num_threads = 1
        self.session = onnxruntime.InferenceSession(
            str(folder / "model.onnx"), sess_options=options, providers=["CPUExecutionProvider"]
        )
        self.vocabulary: dict[str, int] = json.loads((folder / "vocab.json").read_text())["vocab"]
        paths = sorted((folder / "voices").glob("*.bin"))
        self.styles = {
            p.stem: np.fromfile(p, "<f4").reshape(-1, 256)
            for p in paths
            if p.stem not in held_out and (only is None or p.stem in only)
        }
        self.english = [name for name in self.styles if name[0] in "ab"]

    def _style(self, length: int, rng: random.Random) -> tuple[Any, str]:
        pool = self.english if self.english and rng.random() < 0.65 else list(self.styles)
        first, second = rng.choice(pool), rng.choice(pool)
        share = rng.choice([0.0, 0.0, 0.3, 0.5, 0.7])
        style = (1 - share) * self.styles[first][length] + share * self.styles[second][length]
        return style.reshape(1, 256).astype(
            np.float32
        ), f"{first}*{1 - share:.1f}+{second}*{share:.1f}"

    def __call__(self, words: list[str], phones: list[list[str]], rng: random.Random) -> Spoken:
        """Speak at a random speed between slow and hurried; ValueError for too many words."""
        tokens = [self.vocabulary[c] for c in kokoro_symbols(phones)]
        if len(tokens) > KOKORO_LONGEST:
            raise ValueError(f"{len(tokens)} phone symbols are too many for one utterance")
        style, voice = self._style(len(tokens), rng)
        slow, fast = self.pace
        usual = rng.uniform(max(0.8, slow), min(1.3, fast))
        speed = np.array([rng.choice([usual, rng.uniform(slow, fast)])], np.float32)
        feed = {"tokens": np.array([[0, *tokens, 0]], np.int64), "style": style, "speed": speed}
        names = {i.name for i in self.session.get_inputs()}
        if "input_ids" in names:
            feed["input_ids"] = feed.pop("tokens")
        sound = self.session.run(None, feed)[0].reshape(-1)
        return Spoken(at_16k(sound, 24_000), "kokoro:" + voice)


def to_pcm(sound: Sound) -> NDArray[np.int16]:
    """Float -1..1 to int16."""
    return np.clip(sound * 32767, -32767, 32767).astype(np.int16)


def played(rate: int, faster: float) -> int:
    """The sampling rate at which a sound is taken to be, in steps that resample well."""
    return round(rate * faster / 200) * 200


def _from_command(command: list[str], text: str | None = None) -> tuple[Sound, int]:
    with tempfile.NamedTemporaryFile(suffix=".wav") as file:
        filled = [part.replace("{wav}", file.name) for part in command]
        subprocess.run(filled, input=text, text=True, check=True, capture_output=True)
        sound, rate = soundfile.read(file.name, dtype="float32")
    return sound, rate


def other_speaker(rng: random.Random) -> float:
    """How much faster the sound is played, half the time: pitch and formants move with it."""
    return rng.choice([1.0, rng.uniform(0.86, 1.18)])


class Flite:
    """The flite synthesizer's US English voices (unit selection and statistical)."""

    names = ("rms", "slt", "awb", "kal16")

    def __call__(self, words: list[str], phones: list[list[str]], rng: random.Random) -> Spoken:
        """Speak with a random stretch and, where the voice allows it, a random pitch."""
        name, faster = rng.choice(self.names), other_speaker(rng)
        stretch = f"duration_stretch={rng.uniform(0.7, 1.35) * faster:.2f}"
        pitch = f"int_f0_target_mean={rng.uniform(75, 240):.0f}"
        command = ["flite", "-voice", name, "--setf", stretch, "--setf", pitch]
        sound, rate = _from_command([*command, "-t", " ".join(words), "-o", "{wav}"])
        return Spoken(at_16k(sound, played(rate, faster)), f"flite:{name}")


class Festival:
    """Festival's diphone voices (kal, ked) and its HTS voice (slt)."""

    def __init__(self, names: tuple[str, ...] = ("kal_diphone", "ked_diphone")) -> None:
        """Use the `names`d voices."""
        self.names = names

    def __call__(self, words: list[str], phones: list[list[str]], rng: random.Random) -> Spoken:
        """Speak with a random stretch."""
        name, faster = rng.choice(self.names), other_speaker(rng)
        stretch = f"(Parameter.set 'Duration_Stretch {rng.uniform(0.75, 1.35) * faster:.2f})"
        command = ["text2wave", "-o", "{wav}", "-eval", f"(voice_{name})", "-eval", stretch]
        sound, rate = _from_command(command, " ".join(words))
        return Spoken(at_16k(sound, played(rate, faster)), f"festival:{name}")


class Pico:
    """The Pico synthesizer's English voices (statistical; package py-nanotts)."""

    names = ("en-US", "en-US", "en-GB")

    def __init__(self) -> None:
        """Load the synthesizer with the voices that its package holds."""
        from py_nanotts import NanoTTS

        self.engine = NanoTTS()

    def __call__(self, words: list[str], phones: list[list[str]], rng: random.Random) -> Spoken:
        """Speak with a random speed and pitch."""
        name, faster = rng.choice(self.names), other_speaker(rng)
        speed, pitch = rng.uniform(0.75, 1.4) / faster, rng.uniform(0.65, 1.35)
        said = self.engine.speak(" ".join(words), voice=name, speed=speed, pitch=pitch)
        sound = np.frombuffer(said, np.int16).astype(np.float32)
        return Spoken(at_16k(sound, played(RATE, faster)), f"pico:{name}")


class Espeak:
    """The espeak-ng formant synthesizer: five English accents times its voice variants."""

    accents = ("en-us", "en-us", "en-us", "en-gb", "en-gb-x-rp", "en-gb-scotland", "en-029")
    variants = (
        "m1", "m2", "m3", "m4", "m5", "m6", "m7", "f1", "f2", "f3", "f4", "f5", "croak", "klatt",
        "klatt2", "klatt3", "Andy", "Annie", "Gene", "Alex", "Denis", "Jacky", "Lee", "Michael",
        "Mike", "anika", "rob", "steph", "zac",
    )  # fmt: skip

    def __call__(self, words: list[str], phones: list[list[str]], rng: random.Random) -> Spoken:
        """Speak with a random accent, variant, rate, pitch and word gap."""
        accent, variant = rng.choice(self.accents), rng.choice(self.variants)
        speed, pitch, gap = rng.randint(110, 230), rng.randint(20, 80), rng.choice([0, 0, 0, 2, 5])
        command = ["espeak-ng", "-v", f"{accent}+{variant}", "-s", str(speed), "-p", str(pitch)]
        sound, rate = _from_command([*command, "-g", str(gap), "-w", "{wav}", " ".join(words)])
        return Spoken(at_16k(sound, rate), f"espeak:{accent}+{variant}")


class Piper:
    """A Piper neural voice from a folder that holds one .onnx file and its .onnx.json."""

    def __init__(self, folder: Path) -> None:
        """Load the voice (package piper-tts)."""
        from piper import PiperVoice

        self.path = next(folder.rglob("*.onnx"))
        self.voice = PiperVoice.load(str(self.path))

    def __call__(self, words: list[str], phones: list[list[str]], rng: random.Random) -> Spoken:
        """Speak at a random speed."""
        from piper import SynthesisConfig

        config = SynthesisConfig(length_scale=rng.uniform(0.8, 1.25))
        parts = list(self.voice.synthesize(" ".join(words), syn_config=config))
        sound = np.concatenate([p.audio_float_array for p in parts])
        return Spoken(at_16k(sound, parts[0].sample_rate), f"piper:{self.path.stem}")
