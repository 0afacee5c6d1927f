"""Measure the speech model and its peer on test sets: `python -m fieldvoice.acoustic.evaluate`.

The sets are made with synthesize.py and are not kept in the repository:

    synthesize piper            --text grammar --sentences 300 --seed 901 --out SETS/joe
    synthesize kokoro-held-out  --text grammar --sentences 300 --seed 902 --out SETS/kokoro
    synthesize kokoro-held-out  --text talk    --sentences 200 --seed 903 --out SETS/talk

The numbers of a real person come from the prompts of Debian's asterisk-core-sounds-en-g722.
"""

from __future__ import annotations

import argparse
import json
import os
import pickle
import platform
import sys
from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass, field
from datetime import UTC, datetime
from importlib.metadata import version
from pathlib import Path

from fieldvoice.acoustic import human_numbers, listeners, samples
from fieldvoice.acoustic.footprint import footprint
from fieldvoice.acoustic.noise import MACHINES
from fieldvoice.acoustic.reliability import Costs, best_thresholds, word_bins
from fieldvoice.acoustic.results_table import markdown
from fieldvoice.acoustic.scoring import Result, as_dict, judged, score
from fieldvoice.devices.recognizer import OWN_MODEL
from fieldvoice.spoken.graph import compile_acceptor

os.environ["OMP_NUM_THREADS"] = "1"  # read when Vosk is loaded: times are of one core

NUMBER_CONDITIONS = [samples.CLEAN, "white 10", "vacuum pump 10"]
NUMBERS, NUMBERS_SEED, NOISE_SEED = 200, 904, 7
HERE = Path(__file__).parent


@dataclass
class Run:
    """All results of one run, by recognizer, set and condition."""

    found: dict[tuple[str, str, str], list[Result]] = field(default_factory=dict)

    def measure(self, name: str, listener: listeners.Listener, kind: str,
                clean: Sequence[samples.Sample], conditions: Sequence[str]) -> None:  # fmt: skip
        """Decode a set under each condition."""
        for condition in conditions:
            sounds = samples.under(condition, list(clean), NOISE_SEED)
            self.found[name, kind, condition] = listeners.listen(listener, sounds)
            right = score(self.found[name, kind, condition]).sentences_right
            print(f"{name}, {kind}, {condition}: {right:.1%} right", file=sys.stderr, flush=True)

    def of(self, *kinds: str) -> Iterator[Result]:
        """Our results with the shipped graph on these sets, under all conditions."""
        for (name, kind, _), results in self.found.items():
            if name == "fieldvoice" and kind in kinds:
                yield from results


def part(clean: list[samples.Sample], half: str) -> list[samples.Sample]:
    """One half of a set: settings are chosen on "tune" and reported on "report"."""
    return {"all": clean, "tune": clean[0::2], "report": clean[1::2]}[half]


def measure(
    sets: Path, prompts: Path | None, model: Path, half: str, decibels: Sequence[int]
) -> Run:
    """Decode every set."""
    run, own = Run(), listeners.own(model)
    conditions = [samples.CLEAN, *(f"{m} {db}" for db in decibels for m in MACHINES)]
    for kind in ("joe", "kokoro"):
        clean = part(samples.from_shards(sets / kind), half)
        run.measure("fieldvoice", own, kind, clean, conditions)
    talk = part(samples.from_shards(sets / "talk"), half)
    run.measure("fieldvoice", own, "talk", talk, [samples.CLEAN, "vacuum pump 10"])
    if prompts:
        numbers = human_numbers.compose(prompts, NUMBERS, NUMBERS_SEED)
        acceptor = compile_acceptor(root="number")
        run.measure("fieldvoice", own, "person", numbers, NUMBER_CONDITIONS)
        run.measure("fieldvoice, numbers only", listeners.own_with(model, acceptor), "person",
                    numbers, NUMBER_CONDITIONS)  # fmt: skip
        run.measure("PocketSphinx, numbers only", listeners.pocketsphinx(acceptor), "person",
                    numbers, NUMBER_CONDITIONS)  # fmt: skip
    return run


def report(run: Run, model: Path, half: str) -> dict[str, object]:
    """Everything measured, as plain JSON values."""
    rows = [
        {"recognizer": name, "set": kind, "condition": condition}
        | as_dict(score(results, talk=kind == "talk"))
        for (name, kind, condition), results in run.found.items()
    ]
    lines = list(run.of("joe", "kokoro"))
    talk = [judged(r, talk=True) for r in run.of("talk")]
    accept, ignore, cost = best_thresholds([judged(r) for r in lines], talk, Costs())
    talk_s = sum(r.seconds for r in run.of("talk"))
    return {
        "date": datetime.now(UTC).date().isoformat(),
        "versions": {"python": platform.python_version(), "vosk": version("vosk"),
                     "pocketsphinx": version("pocketsphinx")},
        "model": json.loads((model / "fieldvoice.json").read_text()),
        "half": half,
        "footprint": footprint(model),
        "rows": rows,
        "talk_hours": round(talk_s / 3600, 3),
        "reliability": [asdict(b) for b in word_bins(lines)],
        "cheapest_thresholds": {"accept_from": accept, "ignore_below": ignore,
                                "cost_a_line": round(cost, 3), "costs": asdict(Costs())},
    }


def main() -> None:
    """Read the arguments."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("--sets", type=Path, required=True, help="folder of joe/, kokoro/, talk/")
    parser.add_argument("--prompts", type=Path, help="folder that holds digits/*.g722")
    parser.add_argument("--model", type=Path, default=OWN_MODEL)
    parser.add_argument("--half", choices=["all", "tune", "report"], default="all")
    parser.add_argument("--decibels", type=int, nargs="*", default=[20, 10, 5],
                        help="of machine noise, beside clean")  # fmt: skip
    parser.add_argument("--out", type=Path, default=HERE / "results", help="writes .json and .md")
    parser.add_argument("--keep", type=Path, help="pickle of all results: written, or read again")
    a = parser.parse_args()
    if a.keep and a.keep.is_file():
        run = Run(pickle.loads(a.keep.read_bytes()))
    else:
        run = measure(a.sets, a.prompts, a.model, a.half, a.decibels)
        if a.keep:
            a.keep.write_bytes(pickle.dumps(run.found))
    figures = report(run, a.model, a.half)
    a.out.with_suffix(".json").write_text(json.dumps(figures, indent=1) + "\n")
    a.out.with_suffix(".md").write_text(markdown(figures))


if __name__ == "__main__":
    main()
