"""Measure the speech model and its peers: `python -m fieldvoice.training.evaluate.benchmark`.

The sets are made with synthesize.py and are not kept in the repository; those that settings were
chosen on ("for tuning") and those of the report are drawn with different seeds:

    synthesize piper            --text grammar --sentences 500 --seed 1901 --out SETS/joe
    synthesize kokoro-held-out  --text grammar --sentences 500 --seed 1902 --out SETS/kokoro
    synthesize piper            --text talk    --sentences 450 --seed 1905 --out SETS/talk
    synthesize kokoro-held-out  --text talk    --sentences 450 --seed 1903 --out SETS/talk
    synthesize piper            --text short   --sentences 200 --seed 1911 --out SETS/short
    synthesize piper            --text digits  --sentences 200 --seed 1912 --out SETS/digits
    for tuning: 300, 300 and 200 sentences, seeds 901, 902 and 903 (talk without piper), and 150
    short and 150 digits, seeds 911 and 912

SETS/short, SETS/digits and SETS/accents/NAME are measured where they are there. The lines of a real
person come from the prompts of Debian's asterisk-core-sounds-en-g722, recorded noise from what
conditions/recordings.py names.

A first look at a changed model, in minutes, with what becomes of the lines before and after:

    benchmark --sets SETS --prompts ... --noises DIR --keep KEPT --quick --peers --minutes 0
        --model NEW --before OLD --out quick
"""

from __future__ import annotations

import argparse
import json
import os
import sys
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path

os.environ["OMP_NUM_THREADS"] = "1"  # read when the libraries are loaded: times are of one core

import numpy as np
from numpy.typing import NDArray

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
from fieldvoice.training.evaluate.conditions import recordings, site_sounds
from fieldvoice.training.evaluate.conditions.site_sounds import Maker
from fieldvoice.training.evaluate.figures import BEFORE, OURS
from fieldvoice.training.evaluate.listeners import Listener
from fieldvoice.training.evaluate.result_cache import ResultCache, first_digest, model_digest
from fieldvoice.training.evaluate.samples import Sample
from fieldvoice.training.evaluate.scoring import Result, score
from fieldvoice.training.evaluate.second_opinion import Weigh, opinion, unchanged
from fieldvoice.training.evaluate.test_sets import ROWS, TALK, UNSPOKEN, TestSet
from fieldvoice.training.graph import graph_digest

NOISE_SEED = 7
BABBLE_EVERY = 7  # of the talk's pieces is among those that talk at once
OURS_NUMBERS = f"{OURS}, numbers only"
SPHINX_NUMBERS = f"{peers.POCKETSPHINX}, numbers only"
HERE = Path(__file__).parent


@dataclass
class Run:
    """All results of one run, by recognizer, set and condition."""

    cache: ResultCache
    noises: Mapping[str, Maker] = field(default_factory=dict)  # that are made of sounds given
    noises_digest: str = ""
    found: dict[tuple[str, str, str], list[Result]] = field(default_factory=dict)

    def measure(
        self, name: str, identity: str, make: Callable[[], Listener], one: TestSet,
        weigh: Weigh = unchanged,
    ) -> None:  # fmt: skip
        """Let one recognizer hear a set under each of its conditions."""
        made: list[Listener] = []

        def sounds() -> list[Sample]:
            return samples.under(condition, clean, NOISE_SEED, self.noises)

        def decode() -> list[Result]:
            if not made:
                made.append(make())
            return listeners.listen(made[0], sounds())

        for condition, every in one.conditions.items():
            what, clean = f"{identity}|{condition}|{NOISE_SEED}", one.clean[::every]
            if condition.rsplit(" ", 1)[0] in self.noises:
                what += f"|{self.noises_digest}"
            first = self.cache.results(what, clean, decode)
            results = first if weigh is unchanged else weigh(first, sounds())
            self._add(name, one, condition, results)

    def stream(self, identity: str, model: Path, one: TestSet) -> None:
        """Let our recognizer hear endless sound."""
        results = self.cache.results(
            f"{identity}|stream", one.clean, lambda: listeners.own_stream(model, one.clean)
        )
        self._add(OURS, one, samples.CLEAN, results)

    def in_rows(self, name: str, identity: str, model: Path, one: TestSet) -> None:
        """Let our recognizer hear lines one after another."""
        for condition in one.conditions:
            decode = partial(listeners.own_in_rows, model, one.clean, condition, NOISE_SEED)
            what = f"{identity}|{condition}, as at work with both ears|{NOISE_SEED}"
            results = self.cache.results(what, one.clean, decode)
            self._add(name, one, condition, results)

    def _add(self, name: str, one: TestSet, condition: str, results: list[Result]) -> None:
        if name in (peers.WHISPER, peers.WHISPER_BASE):
            results = [peers.in_words(result) for result in results]
        self.found[name, one.name, condition] = results
        told = score(results, talk=one.kind in (TALK, UNSPOKEN))
        right = f"{told.sentences_right:.1%} exactly right, {told.values_right:.1%} of values"
        if one.kind in (TALK, UNSPOKEN):
            right = f"{told.sentences} pieces, {told.asked_back:.1%} asked about"
        print(f"{name}, {one.name}, {condition}: {right}", file=sys.stderr, flush=True)


def measure(run: Run, sets: Iterable[TestSet], model: Path, wanted: set[str]) -> None:
    """Every recognizer on the sets that it can hear."""
    own, numbers = first_digest(model), compile_acceptor(root="number")
    weigh = opinion(model)
    among = graph_digest.digest(numbers)
    for one in sets:
        if one.kind == UNSPOKEN:
            run.stream(own, model, one)
            continue
        if one.kind == ROWS:
            run.in_rows(OURS, model_digest(model), model, one)
            continue
        run.measure(OURS, own, lambda: listeners.own(model), one, weigh)
        if one.kind == test_sets.NUMBER:
            run.measure(OURS_NUMBERS, f"{own}, {among}",
                        lambda: listeners.own_with(model, numbers), one, weigh)  # fmt: skip
        for peer in sorted(wanted.intersection(one.peers)):
            if peer == "pocketsphinx":
                run.measure(SPHINX_NUMBERS, f"{peers.identity(peer)}, {among}",
                            lambda: peers.pocketsphinx(numbers), one)  # fmt: skip
            else:
                name, make = peers.WRITERS[peer]
                run.measure(name, peers.identity(peer), make, one)


def measure_before(run: Run, sets: Iterable[TestSet], model: Path) -> None:
    """Another model of ours on the lines of the sets, for comparison."""
    identity, weigh = first_digest(model), opinion(model)
    for one in sets:
        if one.kind == ROWS:
            run.in_rows(BEFORE, model_digest(model), model, one)
        elif one.kind not in (TALK, UNSPOKEN):
            run.measure(BEFORE, identity, lambda: listeners.own(model), one, weigh)


def chosen_sets(a: argparse.Namespace, recorded: Iterable[str]) -> list[TestSet]:
    """The sets that the arguments ask for."""
    sets = test_sets.synthetic(a.sets, a.half, a.decibels, a.thorough)
    if not {"whisper", "whisper-base"}.intersection(a.peers):
        sets = [one for one in sets if one.name != "sample"]  # it is part of the others
    sets = [test_sets.on_site(sets[0], recorded), *sets[1:], *test_sets.of_people(a.sets, a.half)]
    if a.prompts:
        sets += test_sets.human(a.prompts)
    if a.digits:
        sets.append(test_sets.second_speaker(a.digits))
    if a.quick:
        return test_sets.quick(sets)
    sets.append(test_sets.in_rows(sets[0]))
    if a.prompts:
        sets.append(test_sets.human_talk(a.prompts))
    if a.minutes:
        sets.append(test_sets.without_words(a.minutes))
    return sets


def babble_of(folder: Path) -> list[NDArray[np.int16]]:
    """Talk that is not for Fieldvoice, in several voices."""
    return [sample.sound for sample in samples.from_shards(folder / "talk")[::BABBLE_EVERY]]


def main() -> None:
    """Read the arguments."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("--sets", type=Path, required=True, help="folder of joe/, kokoro/, talk/")
    parser.add_argument("--prompts", type=Path, help="folder that holds digits/*.g722")
    parser.add_argument("--digits", type=Path, help="folder of a second speaker's 0.wav to 9.wav")
    parser.add_argument("--model", type=Path, default=OWN_MODEL)
    parser.add_argument("--half", choices=["all", "tune", "report"], default="all",
                        help="of each set")
    parser.add_argument("--decibels", type=int, nargs="*", default=[20, 10, 5, 0],
                        help="of machine noise, beside clean")
    parser.add_argument("--thorough", action="store_true",
                        help="every sentence under every condition, which takes hours")
    parser.add_argument("--quick", action="store_true",
                        help="few sentences under each condition, which takes minutes")
    parser.add_argument("--noises", type=Path,
                        help="folder of folders of recorded noise (conditions/recordings.py)")
    parser.add_argument("--before", type=Path,
                        help="model folder, or .json of an earlier page, to show beside")
    parser.add_argument("--peers", nargs="*", choices=["pocketsphinx", *peers.WRITERS],
                        default=["pocketsphinx", "whisper"], help="to measure too; none if empty")
    parser.add_argument("--minutes", type=float, default=2.0,
                        help="of each kind of sound without words; 0 for none")
    parser.add_argument("--keep", type=Path,
                        help="folder of decoded results: what has not changed is read from there")
    parser.add_argument("--out", type=Path, default=HERE / "results",
                        help="writes .json, .md and two .svg")  # fmt: skip
    a = parser.parse_args()
    recorded = recordings.read(a.noises) if a.noises else {}
    sets = chosen_sets(a, recorded)
    talk = babble_of(a.sets)
    noises = {**recorded, samples.BABBLE: site_sounds.babble(talk)}
    run = Run(ResultCache(a.keep), noises, recordings.digest(talk, a.noises))
    if a.before and a.before.is_dir():
        measure_before(run, sets, a.before)
    measure(run, sets, a.model, set(a.peers))
    told = figures.report(run.found, sets, a.model, a.half, a.peers)
    if a.before and a.before.is_file():
        earlier = json.loads(a.before.read_text())["outcomes"]
        told["outcomes"] = figures.earlier(told["outcomes"], earlier)
    from fieldvoice.training.evaluate import results  # which needs matplotlib

    results.write(told, a.out)
    print(results_table.outcomes(told))
    print(results_table.proposals(told))


if __name__ == "__main__":
    main()
