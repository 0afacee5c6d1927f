"""From evidence to confidence: a logistic model whose coefficients are data, beside this file."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path

from fieldvoice.dialogue.belief.evidence import NAMES, Evidence

FITTED = Path(__file__).with_name("fitted.json")


@dataclass(frozen=True)
class Model:
    """Confidence is the logistic function of a weighted sum."""

    intercept: float
    weights: Mapping[str, float]  # by the name of an evidence; what is not named does not count

    def confidence(self, evidence: Evidence) -> float:
        """That the meaning is right, between 0 and 1 without either."""
        parts = zip(NAMES, evidence.values(), strict=True)
        total = self.intercept + sum(self.weights.get(name, 0.0) * value for name, value in parts)
        return 1.0 / (1.0 + math.exp(-max(-30.0, min(30.0, total))))

    def surer(self, by: float) -> Model:
        """For a speaker who is heard better than most, or worse: `by` < 0."""
        return replace(self, intercept=self.intercept + by)


def read(path: Path) -> Model:
    """A model from its file; KeyError names evidence that this program does not gather."""
    told = json.loads(path.read_text(encoding="utf-8"))
    unknown = sorted(told["weights"].keys() - set(NAMES))
    if unknown:
        raise KeyError(f"{path} weighs {unknown}, which nobody measures")
    return Model(told["intercept"], told["weights"])


@cache
def shipped() -> Model:
    """The one that the speech model was shipped with."""
    return read(FITTED)
