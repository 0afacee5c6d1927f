"""What the second network makes of results that were decoded with the first one alone.

Decoding takes most of the time and is kept (result_cache.py); weighing its ways is quick, so a new
second network needs nothing decoded again.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path

from fieldvoice.secondear.network_file import FILE
from fieldvoice.secondear.second_ear import SecondEar
from fieldvoice.secondear.two_ears import beliefs
from fieldvoice.training.evaluate.samples import Sample
from fieldvoice.training.evaluate.scoring import Result

Weigh = Callable[[Sequence[Result], Sequence[Sample]], list[Result]]


def unchanged(results: Sequence[Result], heard: Sequence[Sample]) -> list[Result]:
    """Of a recognizer without a second opinion."""
    return list(results)


def opinion(model: Path) -> Weigh:
    """The second opinion of a model folder, or none."""
    if not (model / FILE).is_file():
        return unchanged
    ear = SecondEar(model)
    return lambda results, heard: [
        weighed(ear, result, sample) for result, sample in zip(results, heard, strict=True)]


def weighed(ear: SecondEar, result: Result, heard: Sample) -> Result:
    """One line, with the time that it took added."""
    began = time.process_time()
    opinion = ear.weighed(result.ways, heard.sound)
    spent = time.process_time() - began
    if not (ways := opinion.ways):
        return result
    words = tuple(ways[0][0].split())
    return replace(result, heard=words, confidences=beliefs(ways), ways=ways,
                   cpu_s=result.cpu_s + spent, unlike=opinion.unlike)  # fmt: skip
