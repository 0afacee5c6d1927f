"""Whether a speaker is heard better than before, on lines that nothing was learned from."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from fieldvoice.ownvoice.voice_file import Figures

FAINTEST = 0.05  # belief below it says no more: else a few lines would outweigh all others
# By how many of its standard errors the belief must rise: of speakers whom it does nothing for, one
# in ten would be told that it helps, were it for this alone.
CLEARLY = 1.28


@dataclass(frozen=True)
class Hearing:
    """One hearing of a line whose words are known."""

    line: int  # which one: each is heard more than once
    exact: bool  # every word right
    right: bool  # understood to mean what was said
    taken: bool  # what was understood is taken without a question
    belief: float  # in what was said, 0..1
    sure: float | None  # in what was understood; None where that is decided by other rules

    @property
    def surprise(self) -> float:
        """How unexpected what was said would have been; 0 where it was believed wholly."""
        return -math.log(max(FAINTEST, self.belief))


def figures(heard: Sequence[Hearing]) -> Figures:
    """All of them as counts. ValueError where nothing was heard."""
    if not heard:
        raise ValueError("no line was heard, so nothing is known of the speaker")
    belief = math.exp(-sum(one.surprise for one in heard) / len(heard))
    return Figures(len(heard), sum(h.exact for h in heard), sum(h.right for h in heard),
                   sum(h.right and h.taken for h in heard), round(belief, 4))


def gain(before: Sequence[Hearing], after: Sequence[Hearing]) -> tuple[float, float]:
    """By how much what was said surprises less, a line; and the standard error of that.

    Both in the same order; hearings of one line count together.
    """
    by_line: dict[int, list[float]] = {}
    for old, new in zip(before, after, strict=True):
        by_line.setdefault(old.line, []).append(old.surprise - new.surprise)
    gains = np.array([np.mean(of_line) for of_line in by_line.values()])
    spread = float(gains.std(ddof=1)) if len(gains) > 1 else math.inf
    return float(gains.mean()), spread / math.sqrt(len(gains))


def why_no_better(before: Sequence[Hearing], after: Sequence[Hearing]) -> str:
    """What speaks against keeping what was learned; "" where the speaker is clearly heard better.

    No more may be misunderstood than before, and less where a question counts as half a
    misunderstanding; and what was said must be believed more by more than chance.
    """
    old, new = figures(before), figures(after)
    if new.meaning < old.meaning:
        return (f"{new.lines - new.meaning} are misunderstood with it, "
                f"{old.lines - old.meaning} without")
    if new.cost > old.cost:
        return f"{new.asked} are asked back with it, {old.asked} without"
    if new.cost == old.cost:
        return "as many are misunderstood or asked back as without it"
    mean, error = gain(before, after)
    if mean <= CLEARLY * error:
        return "what was said is not believed more" + (
            " by so much that it could not be chance" if mean > 0 else "")
    return ""
