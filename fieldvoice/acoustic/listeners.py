"""Recognizers to be measured, each a callable from sound to words with confidences."""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
from numpy.typing import NDArray

from fieldvoice.acoustic.export import write_graph
from fieldvoice.acoustic.lexicon_graph import Costs
from fieldvoice.acoustic.samples import Sample
from fieldvoice.acoustic.scoring import Result
from fieldvoice.devices.recognizer import Recognizer
from fieldvoice.spoken.graph import Acceptor

Words = tuple[tuple[str, ...], tuple[float, ...]]  # words, and the confidence of each
Listener = Callable[[NDArray[np.int16]], Words]
FSG_CHANCE_MIN = 1e-30  # PocketSphinx refuses a transition of chance nought


def listen(listener: Listener, samples: Sequence[Sample]) -> list[Result]:
    """Decode samples one by one, timing the whole process (keep it to one thread)."""
    results = []
    for sample in samples:
        began = time.process_time()
        words, confidences = listener(sample.sound)
        spent = time.process_time() - began
        results.append(Result(sample.words, words, confidences, sample.seconds, spent))
    return results


def own(model: Path) -> Listener:
    """Our recognizer with the model folder's own graph."""
    recognizer = Recognizer(model)

    def hear(sound: NDArray[np.int16]) -> Words:
        utterance = recognizer.hear(sound)
        kept = utterance.parts if utterance.words else ()
        return tuple(p.text for p in kept), tuple(p.confidence for p in kept)

    return hear


def own_with(model: Path, acceptor: Acceptor) -> Listener:
    """Our acoustics with the graph of another acceptor, and without [unk]."""
    with TemporaryDirectory() as name:
        folder = Path(name)
        for part in ("am", "conf"):
            (folder / part).symlink_to((model / part).resolve())
        write_graph(folder, acceptor, Costs(), unknown_cost=None)
        return own(folder)


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

    def hear(sound: NDArray[np.int16]) -> Words:
        decoder.start_utt()
        decoder.process_raw(sound.tobytes(), full_utt=True)
        decoder.end_utt()
        found = decoder.hyp()
        words = tuple(found.hypstr.split()) if found else ()
        return words, (1.0,) * len(words)

    return hear
