"""Recognizers to be measured, each a callable from sound to words with confidences."""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
from numpy.typing import NDArray

from fieldvoice.acoustic.samples import Sample
from fieldvoice.acoustic.scoring import Result
from fieldvoice.devices.recognizer import Recognizer, Utterance
from fieldvoice.spoken.graph import Acceptor


@dataclass(frozen=True)
class Heard:
    """What a recognizer makes of a sound."""

    words: tuple[str, ...]
    confidences: tuple[float, ...]  # of each word
    ways: tuple[tuple[str, float], ...] = ()  # all wordings with their shares, where it tells them


Listener = Callable[[NDArray[np.int16]], Heard]


def listen(listener: Listener, samples: Sequence[Sample]) -> list[Result]:
    """Decode samples one by one, timing the whole process (keep it to one thread)."""
    results = []
    for sample in samples:
        began = time.process_time()
        heard = listener(sample.sound)
        spent = time.process_time() - began
        results.append(Result(sample.words, heard.words, heard.confidences, sample.seconds, spent,
                              heard.ways))  # fmt: skip
    return results


def own(model: Path) -> Listener:
    """Our recognizer with the model folder's own graph."""
    recognizer = Recognizer(model)
    return lambda sound: _heard(recognizer.hear(sound))


def own_stream(model: Path, samples: Sequence[Sample]) -> list[Result]:
    """Our recognizer on endless sound, cut at silences as on the job.

    A sample gives a result that holds its time, and one more for each line that was heard.
    """
    recognizer, results = Recognizer(model), list[Result]()
    for sample in samples:
        began = time.process_time()
        lines = [u for u in recognizer.hear_lines(sample.sound) if u.words]
        spent = time.process_time() - began
        results.append(Result((), (), (), sample.seconds, spent))
        for line in map(_heard, lines):
            results.append(Result((), line.words, line.confidences, 0.0, 0.0, line.ways))
    return results


def _heard(utterance: Utterance) -> Heard:
    kept = utterance.parts if utterance.words else ()
    ways = tuple((way.words, round(way.share, 6)) for way in utterance.ways)
    return Heard(tuple(p.text for p in kept), tuple(p.confidence for p in kept), ways)


def own_with(model: Path, acceptor: Acceptor) -> Listener:
    """Our acoustics with the graph of another acceptor, and without [unk]."""
    from fieldvoice.acoustic.export import write_graph  # which loads torch
    from fieldvoice.acoustic.lexicon_graph import Costs

    with TemporaryDirectory() as name:
        folder = Path(name)
        for part in ("am", "conf"):
            (folder / part).symlink_to((model / part).resolve())
        write_graph(folder, acceptor, Costs(), unknown_cost=None)
        return own(folder)
