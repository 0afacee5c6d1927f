"""Fit how sure a line is: `python -m fieldvoice.training.belief.fit --sets TUNE --keep KEPT`.

TUNE holds a folder of shards for each tuning set: joe/, kokoro/, short/, accents/NAME/, and talk/
for what was not for Fieldvoice. Writes the coefficients into fieldvoice/dialogue/belief/fitted.json
and prints what each threshold would do, judged on lines that each fit had left out. To be run again
whenever the speech model or the grammar changes; what was decoded before is kept.
"""

from __future__ import annotations

import argparse
import json
import os
from collections.abc import Sequence
from dataclasses import dataclass
from math import inf
from pathlib import Path

os.environ["OMP_NUM_THREADS"] = "1"  # read when the libraries are loaded

import numpy as np
from numpy.typing import NDArray

from fieldvoice.devices.vosk_recognizer import OWN_MODEL
from fieldvoice.dialogue import confidence
from fieldvoice.dialogue.belief.evidence import NAMES
from fieldvoice.dialogue.belief.model import FITTED, Model
from fieldvoice.training.belief import logistic, tables
from fieldvoice.training.belief.lines import Line, evidence, heard, on_a_job
from fieldvoice.training.evaluate.result_cache import model_digest
from fieldvoice.training.evaluate.scoring import Judged, judged

FOLDS = 5
MORE, LESS = (0.0, inf), (-inf, 0.0)
# What can only make a line less sure has a bound below 0 where made-up voices say too little of it:
# none of their sole ways is wrong, in noise and cut off too, and a person's may be (judgement); a
# person's fifteens and fifties are mixed up in noise more than theirs (of her other numbers).
BOUNDS = {
    "margin": MORE, "clear_margin": MORE, "sole": (-inf, -0.3), "sole_in_noise": (-inf, -3.0),
    "rivals": LESS, "outside": LESS,
    "noise": (-inf, -0.1), "loud_noise": (-inf, -0.5), "unlike": LESS, "twin": LESS,
    "twin_in_noise": (-inf, -0.5), "clipped": (-inf, -0.4),
    "length": LESS, "short": LESS, "number": LESS, "numbers": LESS,
}  # fmt: skip
HALF = 0.5  # each line counts once with a step that waits, and once without


@dataclass(frozen=True)
class Known:
    """Lines of which any word was heard, as a table."""

    rows: logistic.Floats  # a line's evidence each
    right: logistic.Floats  # 1 or 0
    places: NDArray[np.int64]  # of each line in its set


def known(lines: Sequence[Line]) -> Known:
    """What the lines tell of the evidence."""
    told = [(e.values(), judge(line, None).same_meaning, line.place) for line in lines
            if (e := evidence(line)) is not None]  # fmt: skip
    rows, right, places = zip(*told, strict=True)
    return Known(np.array(rows), np.array(right, np.float64), np.array(places))


def fitted(lines: Sequence[Line]) -> Model:
    """The model of least surprise about these lines."""
    return _fitted(table := known(lines), np.full(len(table.places), True))


def _fitted(table: Known, which: NDArray[np.bool_]) -> Model:
    bounds = [BOUNDS.get(name, (-inf, inf)) for name in NAMES]
    counts = np.full(int(which.sum()), HALF)
    intercept, weights = logistic.fit(table.rows[which], table.right[which], counts, bounds)
    told = {name: round(float(w), 4) for name, w in zip(NAMES, weights, strict=True)}
    return Model(round(intercept, 4), told)


def judge(line: Line, model: Model | None) -> Judged:
    """What Fieldvoice makes of a line."""
    return judged(line.result, line.talk, line.expected, model=model)


def left_out(lines: Sequence[Line]) -> list[Judged]:
    """Each line judged by a model that was fitted without its sentence."""
    table = known(lines)
    models = [_fitted(table, table.places % FOLDS != fold) for fold in range(FOLDS)]
    return [judge(line, models[line.place % FOLDS]) for line in lines]


def write(model: Model, lines: Sequence[Line], digest: str) -> None:
    """The coefficients, and what they were fitted on."""
    told = {
        "intercept": model.intercept,
        "weights": dict(model.weights),
        "fitted": {
            "by": "python -m fieldvoice.training.belief.fit",
            "speech_model": digest,
            "lines": {name: sum(line.name == name for line in lines)
                      for name in sorted({line.name for line in lines})},
            "conditions": sorted({line.condition for line in lines}),
        },
    }  # fmt: skip
    FITTED.write_text(json.dumps(told, indent=1) + "\n", encoding="utf-8")


def main() -> None:
    """Read the arguments."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("--sets", type=Path, required=True, help="folder of tuning sets")
    parser.add_argument("--keep", type=Path, help="folder of decoded results")
    parser.add_argument("--model", type=Path, default=OWN_MODEL)
    parser.add_argument("--only", nargs="*", default=[], help="names of sets, if not all")
    parser.add_argument("--every", type=int, default=1, help="only every nth sentence")
    parser.add_argument("--dry", action="store_true", help="write nothing")
    a = parser.parse_args()
    alone = heard(a.sets, a.model, a.keep, a.only, a.every)
    both = [*alone, *on_a_job(alone)]
    verdicts = left_out(both)
    print(tables.by_condition(alone, verdicts[: len(alone)], "no step waits"))
    print(tables.by_condition(alone, verdicts[len(alone) :], "as on a job"))
    print(tables.reliability_of(both, verdicts))
    print(tables.thresholds(both, verdicts, confidence.ACCEPT_FROM))
    model = fitted(both)
    if not a.dry:
        write(model, alone, model_digest(a.model))
    print(json.dumps({"intercept": model.intercept} | dict(model.weights), indent=1))


if __name__ == "__main__":
    main()
