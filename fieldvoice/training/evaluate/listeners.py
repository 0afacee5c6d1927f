"""Recognizers to be measured, each a callable from sound to words with confidences."""

from __future__ import annotations

import time
from bisect import bisect_left
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
from numpy.typing import NDArray

from fieldvoice.devices.dozing import Dozing
from fieldvoice.devices.early_end import EarlyEnd
from fieldvoice.devices.ears.levels import above_noise
from fieldvoice.devices.recognizer import RATE, Recognizer, Utterance
from fieldvoice.devices.vosk_recognizer import VoskRecognizer
from fieldvoice.dialogue.belief.clarity import QUIET_DB
from fieldvoice.language.decoding_graph import Acceptor
from fieldvoice.language.line_end import SHORTEST_S, line_end, one_line
from fieldvoice.secondear.two_ears import with_second_ear
from fieldvoice.training.evaluate.samples import MACHINES, ROW, Sample, in_a_row, machine_of
from fieldvoice.training.evaluate.scoring import Result
from fieldvoice.training.speech.noise import with_noise

ENGINE_ALONE = "engine alone"
BLOCK = RATE // 20  # samples that a microphone gives at once
LINE_S = 12  # of sound at most before the end of a line: what lies before is silence
WEAK_END_S = 0.25  # of a line: covered by noise, it may count to the silence after it


@dataclass(frozen=True)
class Heard:
    """What a recognizer makes of a sound."""

    words: tuple[str, ...]
    confidences: tuple[float, ...]  # of each word
    ways: tuple[tuple[str, float], ...] = ()  # all wordings with their shares, where it tells them
    clarity: tuple[float, float] = (QUIET_DB, 0.0)  # as `clarity` tells it
    unlike: float = 0.0  # as a recognizer tells it


Listener = Callable[[NDArray[np.int16]], Heard]


def listen(listener: Listener, samples: Sequence[Sample]) -> list[Result]:
    """Decode samples one by one, timing the whole process (keep it to one thread)."""
    results = []
    for sample in samples:
        began = time.process_time()
        heard = listener(sample.sound)
        spent = time.process_time() - began
        results.append(Result(sample.words, heard.words, heard.confidences, sample.seconds, spent,
                              heard.ways, *clarity(sample.sound)))  # fmt: skip
    return results


def clarity(sound: NDArray[np.int16]) -> tuple[float, float]:
    """How many dB its speech is above the noise, and which part of it was clipped, rounded."""
    above_db, clipped = above_noise(sound) or (QUIET_DB, 0.0)
    return round(above_db, 1), round(clipped, 6)


def own(model: Path) -> Listener:
    """Our recognizer with the model folder's own graph."""
    recognizer = VoskRecognizer(model)
    return lambda sound: _heard(recognizer.hear(sound))


def own_stream(model: Path, samples: Sequence[Sample]) -> list[Result]:
    """Our recognizer on endless sound, cut at silences as on the job.

    A sample gives a result that holds its time, and one more for each line that was heard.
    """
    recognizer, results = VoskRecognizer(model), list[Result]()
    for sample in samples:
        began = time.process_time()
        lines = [u for u in recognizer.hear_lines(sample.sound) if u.words]
        spent = time.process_time() - began
        results.append(Result((), (), (), sample.seconds, spent))
        for line in map(_heard, lines):
            results.append(Result((), line.words, line.confidences, 0.0, 0.0, line.ways))
    return results


def own_in_rows(
    model: Path, lines: Sequence[Sample], condition: str, seed: int
) -> list[Result]:
    """Our recognizer on lines that are said one after another, ROW at a time.

    `condition`: "0.6 s apart", after that perhaps ", machines 10" for a noise and its decibels, and
    ", engine alone" without the early ends that live work hears with. What is heard after the end
    of a line and before that of the next belongs to it: of two lines that run together the second
    is heard as both, and the first not at all.
    """
    engine, results = VoskRecognizer(model), list[Result]()
    early = EarlyEnd(Dozing(engine), line_end, one_line, SHORTEST_S)
    ear = with_second_ear(engine if ENGINE_ALONE in condition else early, model)
    for first in range(0, len(lines), ROW):
        row = lines[first : first + ROW]
        sound, ends = _row(row, condition, seed, first)
        began = time.process_time()
        heard = _by_end(ear, sound, ends)
        spent = (time.process_time() - began) / len(row)
        for line, one in zip(row, heard, strict=True):
            results.append(Result(line.words, one.words, one.confidences,
                                  len(sound) / RATE / len(row), spent, one.ways,
                                  *one.clarity, one.unlike))  # fmt: skip
    return results


def _row(
    row: Sequence[Sample], condition: str, seed: int, first: int
) -> tuple[NDArray[np.int16], list[int]]:
    """The sound of a row of lines, and where each ends."""
    pause, *under = condition.split(", ")
    sound, ends = in_a_row(row, float(pause.split()[0]), seed + first)
    for noisy in (name for name in under if name != ENGINE_ALONE):
        machine, decibels = noisy.rsplit(" ", 1)
        machine = machine_of(first // ROW) if machine == MACHINES else machine
        sound = with_noise(sound, machine, float(decibels), seed + first, margin_s=0.0)
    return sound, ends


def _by_end(
    recognizer: Recognizer, sound: NDArray[np.int16], ends: Sequence[int], block: int = BLOCK
) -> list[Heard]:
    heard: list[list[Heard]] = [[] for _ in ends]
    begin = 0
    for utterance, came in recognizer.hear_ends(sound, block):
        end = came - round(recognizer.open_s() * RATE)
        place = max(0, bisect_left(ends, end + WEAK_END_S * RATE) - 1)
        heard[place].append(_line(recognizer, utterance, sound[begin:end]))
        begin = end
    return [_joined(parts) for parts in heard]


def _line(recognizer: Recognizer, utterance: Utterance, sound: NDArray[np.int16]) -> Heard:
    """What a job would make of a line with its sound."""
    sound = sound[-LINE_S * RATE :]
    weighed = recognizer.weighed(utterance, sound)
    return replace(_heard(weighed), clarity=clarity(sound), unlike=weighed.unlike)


def _joined(parts: Sequence[Heard]) -> Heard:
    """One line; in pieces it is no sentence any more, and its wordings are not told."""
    parts = [part for part in parts if part.words]  # not talk or noise
    if len(parts) == 1:
        return parts[0]
    words = tuple(word for part in parts for word in part.words)
    return Heard(words, tuple(c for part in parts for c in part.confidences))


def _heard(utterance: Utterance) -> Heard:
    ways = tuple((way.words, round(way.share, 6)) for way in utterance.ways)
    if utterance.words and not utterance.parts:  # others than the first network's
        words = tuple(utterance.words.split())
        return Heard(words, (utterance.confidence,) * len(words), ways)
    kept = utterance.parts if utterance.words else ()
    return Heard(tuple(p.text for p in kept), tuple(p.confidence for p in kept), ways)


def own_with(model: Path, acceptor: Acceptor) -> Listener:
    """Our acoustics with the graph of another acceptor, and without [unk]."""
    from fieldvoice.training.graph.export import write_graph
    from fieldvoice.training.graph.lexicon_graph import Costs

    with TemporaryDirectory() as name:
        folder = Path(name)
        for part in ("am", "conf"):
            (folder / part).symlink_to((model / part).resolve())
        write_graph(folder, acceptor, Costs(), unknown_cost=None)
        return own(folder)
