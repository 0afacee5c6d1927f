"""Measure the speech model and its peers: `python -m fieldvoice.training.evaluate.benchmark`.

The sets are made with synthesize.py and are not kept in the repository; those that settings were
chosen on ("for tuning") and those of the report are drawn with different seeds:

    synthesize piper            --text grammar --sentences 500 --seed 1901 --out SETS/joe
    synthesize kokoro-held-out  --text grammar --sentences 500 --seed 1902 --out SETS/kokoro
    synthesize piper            --text talk    --sentences 450 --seed 1905 --out SETS/talk
    synthesize kokoro-held-out  --text talk    --sentences 450 --seed 1903 --out SETS/talk
    for tuning: 300, 300 and 200 sentences, seeds 901, 902 and 903 (talk without piper)

The lines of a real person come from the prompts of Debian's asterisk-core-sounds-en-g722.
"""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path

os.environ["OMP_NUM_THREADS"] = "1"  # read when the libraries are loaded: times are of one core

from fieldvoice.devices.vosk_recognizer import OWN_MODEL
from fieldvoice.language.decoding_graph import compile_acceptor
from fieldvoice.training.evaluate import (
    figures,
    listeners,
    peers,
    results_table,
    samples,
    test_sets,
)
from fieldvoice.training.evaluate.figures import OURS
from fieldvoice.training.evaluate.listeners import Listener
from fieldvoice.training.evaluate.result_cache import ResultCache, model_digest
from fieldvoice.training.evaluate.scoring import Result, score
from fieldvoice.training.evaluate.test_sets import ROWS, TALK, UNSPOKEN, TestSet
from fieldvoice.training.graph import graph_digest

NOISE_SEED = 7
OURS_NUMBERS = f"{OURS}, numbers only"
SPHINX_NUMBERS = f"{peers.POCKETSPHINX}, numbers only"
HERE = Path(__file__).parent


@dataclass
class Run:
    """All results of one run, by recognizer, set and condition."""

    cache: ResultCache
    found: dict[tuple[str, str, str], list[Result]] = field(default_factory=dict)

    def measure(self, name: str, identity: str, make: Callable[[], Listener], one: TestSet) -> None:
        """Let one recognizer hear a set under each of its conditions."""
        made: list[Listener] = []

        def decode() -> list[Result]:
            if not made:
                made.append(make())
            return listeners.listen(made[0], samples.under(condition, clean, NOISE_SEED))

        for condition, every in one.conditions.items():
            what, clean = f"{identity}|{condition}|{NOISE_SEED}", one.clean[::every]
            self._add(name, one, condition, self.cache.results(what, clean, decode))

    def stream(self, identity: str, model: Path, one: TestSet) -> None:
        """Let our recognizer hear endless sound."""
        results = self.cache.results(
            f"{identity}|stream", one.clean, lambda: listeners.own_stream(model, one.clean)
        )
        self._add(OURS, one, samples.CLEAN, results)

    def in_rows(self, identity: str, model: Path, one: TestSet) -> None:
        """Let our recognizer hear lines one after another."""
        for condition in one.conditions:
            decode = partial(listeners.own_in_rows, model, one.clean, condition, NOISE_SEED)
            what = f"{identity}|{condition}, as at work|{NOISE_SEED}"
            results = self.cache.results(what, one.clean, decode)
            self._add(OURS, one, condition, results)

    def _add(self, name: str, one: TestSet, condition: str, results: list[Result]) -> None:
        if name == peers.WHISPER:
            results = [peers.in_words(result) for result in results]
        self.found[name, one.name, condition] = results
        told = score(results, talk=one.kind in (TALK, UNSPOKEN))
        right = f"{told.sentences_right:.1%} exactly right, {told.values_right:.1%} of values"
        if one.kind in (TALK, UNSPOKEN):
            right = f"{told.sentences} pieces, {told.asked_back:.1%} asked about"
        print(f"{name}, {one.name}, {condition}: {right}", file=sys.stderr, flush=True)


def measure(run: Run, sets: Iterable[TestSet], model: Path, wanted: set[str]) -> None:
    """Every recognizer on the sets that it can hear."""
    own, numbers = model_digest(model), compile_acceptor(root="number")
    among = graph_digest.digest(numbers)
    for one in sets:
        if one.kind == UNSPOKEN:
            run.stream(own, model, one)
            continue
        if one.kind == ROWS:
            run.in_rows(own, model, one)
            continue
        run.measure(OURS, own, lambda: listeners.own(model), one)
        if one.kind == test_sets.NUMBER:
            run.measure(OURS_NUMBERS, f"{own}, {among}",
                        lambda: listeners.own_with(model, numbers), one)  # fmt: skip
        for peer in sorted(wanted.intersection(one.peers)):
            if peer == "pocketsphinx":
                run.measure(SPHINX_NUMBERS, f"{peers.identity(peer)}, {among}",
                            lambda: peers.pocketsphinx(numbers), one)  # fmt: skip
            else:
                run.measure(peers.WHISPER, peers.identity(peer), peers.whisper, one)


def main() -> None:
    """Read the arguments."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("--sets", type=Path, required=True, help="folder of joe/, kokoro/, talk/")
    parser.add_argument("--prompts", type=Path, help="folder that holds digits/*.g722")
    parser.add_argument("--model", type=Path, default=OWN_MODEL)
    parser.add_argument("--half", choices=["all", "tune", "report"], default="all",
                        help="of each set")
    parser.add_argument("--decibels", type=int, nargs="*", default=[20, 10, 5, 0],
                        help="of machine noise, beside clean")
    parser.add_argument("--thorough", action="store_true",
                        help="every sentence under every condition, which takes hours")
    parser.add_argument("--peers", nargs="*", choices=["pocketsphinx", "whisper"],
                        default=["pocketsphinx", "whisper"], help="to measure too; none if empty")
    parser.add_argument("--minutes", type=float, default=2.0,
                        help="of each kind of sound without words; 0 for none")
    parser.add_argument("--keep", type=Path,
                        help="folder of decoded results: what has not changed is read from there")
    parser.add_argument("--out", type=Path, default=HERE / "results",
                        help="writes .json, .md and two .svg")  # fmt: skip
    a = parser.parse_args()
    sets = test_sets.synthetic(a.sets, a.half, a.decibels, a.thorough)
    if "whisper" not in a.peers:
        sets = [one for one in sets if one.name != "sample"]  # it is part of the others
    sets.append(test_sets.in_rows(sets[0]))
    if a.prompts:
        sets += test_sets.human(a.prompts)
    if a.minutes:
        sets.append(test_sets.without_words(a.minutes))
    run = Run(ResultCache(a.keep))
    measure(run, sets, a.model, set(a.peers))
    told = figures.report(run.found, sets, a.model, a.half, a.peers)
    from fieldvoice.training.evaluate import results  # which needs matplotlib

    results.write(told, a.out)
    print(results_table.proposals(told))


if __name__ == "__main__":
    main()
