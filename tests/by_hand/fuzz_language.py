"""Coverage-guided fuzzing of the language and of whole job turns; run by hand, not by pytest.

    pip install atheris
    cd tests; python -m by_hand.fuzz_language understand --minutes 30 --out FOLDER
    cd tests; python -m by_hand.fuzz_language job --minutes 30 --out FOLDER

What is claimed, and the seeds, stand in fuzz_claims.py. Coverage is of code, and of every
alternative of the grammar and every step of the procedures, since these are data. An input that
breaks a claim is kept in FOLDER, once for each place in the code, and fuzzing goes on; a line of
figures is added to FOLDER/TARGET.log every minute. A break that was mended becomes a row of
tests/language/phrases or a test of its own.
"""

from __future__ import annotations

import argparse
import hashlib
import random
import resource
import sys
import time
import traceback
from collections.abc import Callable
from pathlib import Path
from typing import Any

import atheris

with atheris.instrument_imports(include=["fieldvoice"]):
    from fieldvoice.language import parser
    from support import fuzz_claims

SLOW_S = 2.0  # no line and no conversation of 60 turns may take longer, nice as we are
EVERY_S = 60.0


class Marks:
    """Coverage counters of our own, by name."""

    def __init__(self, names: list[str]) -> None:
        self._numbers = {name: atheris._reserve_counter() for name in names}
        self.reached: set[str] = set()

    def __call__(self, name: str) -> None:
        if name in self._numbers:
            self.reached.add(name)
            atheris._trace_branch(self._numbers[name])

    def __len__(self) -> int:
        return len(self._numbers)


def mark_grammar() -> Marks:
    """Count each alternative of the grammar as a branch of its own."""
    table = parser._openings().table
    ways = {
        f"{rule} {symbols}": None
        for rule, openings in table.items()
        for found in openings.values()
        for symbols, _ in found
    }
    marks = Marks(list(ways))
    for rule, openings in table.items():
        for found in openings.values():
            found[:] = [(s, _marked(b, f"{rule} {s}", marks)) for s, b in found]
    return marks


def _marked(build: Callable[[Any], Any], name: str, marks: Marks) -> Callable[[Any], Any]:
    def building(parts: Any) -> Any:
        marks(name)
        return build(parts)

    return building


class Trial:
    """Tries inputs, keeps those that break a claim, and writes figures down."""

    def __init__(self, out: Path, target: str, claim: Callable[..., None]) -> None:
        self._out, self._target, self._claim = out, target, claim
        self.grammar, self.steps = mark_grammar(), Marks(fuzz_claims.step_marks())
        self._began = self._told = time.monotonic()
        self._tried = 0
        self._broken: dict[str, int] = {}

    def __call__(self, data: bytes) -> None:
        self._tried += 1
        began = time.process_time()
        try:
            self._claim(data, self.steps)
            taken = time.process_time() - began
            assert taken < SLOW_S, f"took {taken:.1f} s"
        except Exception as error:
            self._keep(data, error)
        if time.monotonic() - self._told > EVERY_S:
            self._tell()

    def _keep(self, data: bytes, error: Exception) -> None:
        frames = traceback.extract_tb(error.__traceback__)
        place = f"{Path(frames[-1].filename).name}:{frames[-1].lineno}"
        self._broken[place] = self._broken.get(place, 0) + 1
        if self._broken[place] <= 5:
            name = f"{self._target}-{hashlib.sha1(data).hexdigest()[:12]}"
            (self._out / name).write_bytes(data)
            with (self._out / f"{name}.txt").open("w", errors="backslashreplace") as told:
                told.write(f"{data!r}\n{''.join(traceback.format_exception(error))}")

    def _tell(self) -> None:
        self._told = time.monotonic()
        used = resource.getrusage(resource.RUSAGE_SELF).ru_utime
        with (self._out / f"{self._target}.log").open("a") as log:
            log.write(
                f"{(self._told - self._began) / 60:.0f} min, {used / 60:.1f} CPU min,"
                f" {self._tried} tried, grammar {len(self.grammar.reached)}/{len(self.grammar)},"
                f" steps {len(self.steps.reached)}/{len(self.steps)}, broken {self._broken}\n"
            )


def cutting(pieces: list[bytes], between: bytes) -> Callable[[bytes, int, int], bytes]:
    """A mutator that, every other time, swaps whole words or whole lines instead of bytes."""

    def mutate(data: bytes, longest: int, seed: int) -> bytes:
        chance = random.Random(seed)
        if chance.random() < 0.5:
            return bytes(atheris.Mutate(data, longest))
        parts = data.split(between)
        for _ in range(chance.randint(1, 3)):
            at = chance.randrange(len(parts) + 1)
            parts[at : at + chance.randint(0, 2)] = chance.sample(pieces, chance.randint(0, 2))
        return between.join(parts)[:longest]

    return mutate


def main() -> None:
    """Fuzz one target for so many minutes."""
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    options.add_argument("target", choices=["understand", "job"])
    options.add_argument("--minutes", type=float, default=30.0)
    options.add_argument("--out", type=Path, required=True, help="folder of corpus and findings")
    given = options.parse_args()
    corpus = given.out / f"{given.target}-corpus"
    corpus.mkdir(parents=True, exist_ok=True)
    lines = given.target == "understand"
    seeds = fuzz_claims.line_seeds() if lines else fuzz_claims.job_seeds()
    sentences = fuzz_claims.sentence_seeds(random.Random(4), 3000) if lines else ()
    for seed in (*seeds, *sentences):
        (corpus / hashlib.sha1(seed).hexdigest()).write_bytes(seed)
    claim = fuzz_claims.understand_line if lines else fuzz_claims.work_a_job
    claim(b"\x00\nhvacuum 412 microns")  # what is built once is no part of a trial
    trial = Trial(given.out, given.target, claim)
    words = sorted(set(b" ".join(fuzz_claims.line_seeds()).split()))
    mutate = cutting(words, b" ") if lines else cutting(fuzz_claims.turn_pieces(), b"\n")
    limits = [f"-max_total_time={round(given.minutes * 60)}", "-max_len=10240", "-timeout=120",
              "-rss_limit_mb=0"]  # fmt: skip
    atheris.Setup([sys.argv[0], str(corpus), *limits], trial, custom_mutator=mutate)
    atheris.Fuzz()


if __name__ == "__main__":
    main()
