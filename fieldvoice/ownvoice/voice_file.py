"""A speaker's voice as a small file: what is adapted, for which model, and how well it was heard.

A line that names the format, a line of JSON, the numbers (float32, little endian) in the order that
the JSON has them, and the SHA-256 of all that as hexadecimal figures.
"""

from __future__ import annotations

import hashlib
import json
import math
from dataclasses import asdict, dataclass, field

import numpy as np

from fieldvoice.ownvoice.errors import VoiceError
from fieldvoice.ownvoice.network import Adaptation

FORMAT = b"fieldvoice voice 1\n"
_BEGINS, _DIGEST = b"fieldvoice voice ", 64
MOST_BYTES = 2_000_000  # far more than any that is written


@dataclass(frozen=True)
class Figures:
    """How lines that nothing was learned from are heard."""

    lines: int  # each of them once quiet and once beside noise
    exact: int  # every word right
    meaning: int  # understood to mean what was said
    taken: int  # of these, taken without a question
    belief: float = 0.0  # in what was said, the geometric mean; 0: not known

    @property
    def asked(self) -> int:
        """Rightly understood, and asked back."""
        return self.meaning - self.taken

    @property
    def cost(self) -> float:
        """A question counts as half a misunderstanding."""
        return self.lines - self.meaning + self.asked / 2


@dataclass(frozen=True)
class Voice:
    """What was learned of a speaker."""

    name: str
    model: str  # SHA-256 of the final.mdl that it belongs to
    made: str  # ISO time
    lines: int  # that it was fitted to
    seconds: float  # of sound in these
    before: Figures
    after: Figures
    adaptation: Adaptation = field(repr=False)
    sureness: float = 0.0  # what the logarithm of the odds of each confidence is raised by


def model_hash(final_mdl: bytes) -> str:
    """What a voice names its model by."""
    return hashlib.sha256(final_mdl).hexdigest()


def to_bytes(voice: Voice) -> bytes:
    """The file."""
    head = {k: v for k, v in asdict(voice).items() if k != "adaptation"}
    head["numbers"] = {name: value.shape for name, value in voice.adaptation.items()}
    body = b"".join(v.astype("<f4").tobytes() for v in voice.adaptation.values())
    data = FORMAT + json.dumps(head).encode() + b"\n" + body
    return data + hashlib.sha256(data).hexdigest().encode()


def from_bytes(data: bytes, where: str) -> Voice:
    """The voice in a file. Raises VoiceError that names `where` for any other bytes."""
    if not data.startswith(FORMAT):
        if data.startswith(_BEGINS):
            raise VoiceError(f"{where} is of another version of Fieldvoice; learn the voice again")
        raise VoiceError(f"{where} is not a voice; learn it again")
    signed, digest = data[:-_DIGEST], data[-_DIGEST:]
    if hashlib.sha256(signed).hexdigest().encode() != digest:
        raise VoiceError(f"{where} is damaged: its checksum is wrong; learn the voice again")
    try:
        return _voice(signed[len(FORMAT) :])
    except (ValueError, KeyError, TypeError, AttributeError):
        raise VoiceError(f"{where} cannot be read; learn the voice again") from None


def _voice(signed: bytes) -> Voice:
    line, _, body = signed.partition(b"\n")
    head = json.loads(line)
    sizes = [(name, tuple(shape)) for name, shape in head.pop("numbers").items()]
    numbers = np.frombuffer(body, "<f4").astype(np.float32)
    if sum(math.prod(shape) for _, shape in sizes) != len(numbers):
        raise ValueError("another number of numbers")
    if not np.isfinite(numbers).all():
        raise ValueError("no number")
    adaptation, at = {}, 0
    for name, shape in sizes:
        adaptation[name] = numbers[at : at + math.prod(shape)].reshape(shape)
        at += math.prod(shape)
    before, after = Figures(**head.pop("before")), Figures(**head.pop("after"))
    return Voice(**head, before=before, after=after, adaptation=adaptation)
