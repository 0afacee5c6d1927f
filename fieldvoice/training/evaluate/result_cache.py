"""Decoded results on disk, so that what has not changed is not decoded again."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Sequence
from dataclasses import asdict
from pathlib import Path

from fieldvoice.secondear.network_file import FILE
from fieldvoice.training.evaluate.samples import Sample
from fieldvoice.training.evaluate.scoring import Result


class ResultCache:
    """A folder of results, each under a digest of everything that it depends on."""

    def __init__(self, folder: Path | None) -> None:
        """Without a folder nothing is kept."""
        self._folder = folder

    def results(self, what: str, clean: Sequence[Sample], decode: Callable[[], list[Result]]
                ) -> list[Result]:  # fmt: skip
        """Results of before, or those of `decode`; `what` names recognizer, model, condition."""
        if self._folder is None:
            return decode()
        path = self._folder / f"{_digest(what, clean)}.json"
        if path.is_file():
            return [_result(line) for line in path.read_text().splitlines()]
        found = decode()
        self._folder.mkdir(parents=True, exist_ok=True)
        path.write_text("".join(json.dumps(asdict(result)) + "\n" for result in found))
        return found


def _digest(what: str, clean: Sequence[Sample]) -> str:
    digest = hashlib.sha256(what.encode())
    for sample in clean:
        digest.update(" ".join(sample.words).encode())
        digest.update(sample.sound.tobytes())
    return digest.hexdigest()[:24]


def _result(line: str) -> Result:
    found = json.loads(line)
    ways = tuple((words, share) for words, share in found["ways"])
    measured = ("above_noise_db", "clipped_part", "unlike")
    told = {name: found[name] for name in measured if name in found}
    return Result(tuple(found["said"]), tuple(found["heard"]), tuple(found["confidences"]),
                  found["seconds"], found["cpu_s"], ways, **told)  # fmt: skip


def model_digest(model: Path) -> str:
    """Of the files that decide what a speech model hears."""
    return _digest_of(model, lambda path: True)


def first_digest(model: Path) -> str:
    """The same without the second network: of what is kept, which only the first one decides."""
    return _digest_of(model, lambda path: path.relative_to(model) != FILE)


def _digest_of(model: Path, counts: Callable[[Path], bool]) -> str:
    digest = hashlib.sha256()
    for path in sorted(p for p in model.rglob("*") if p.is_file() and counts(p)):
        digest.update(path.read_bytes())
    return digest.hexdigest()[:16]
