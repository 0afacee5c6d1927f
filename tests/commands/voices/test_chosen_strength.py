"""How much of what was learned is kept."""

from dataclasses import replace

import pytest

from fieldvoice.commands.wiring.voices.learning import _chosen
from fieldvoice.ownvoice.verdict import Hearing

RIGHT = Hearing(0, True, True, True, 0.98, 0.98)
ASKED = replace(RIGHT, taken=False, belief=0.6)
WRONG = replace(RIGHT, exact=False, right=False, belief=0.05)
LESS = [RIGHT] * 18 + [ASKED] * 2  # than before, of what is asked back
BEFORE = [RIGHT] * 10 + [ASKED] * 10


@pytest.mark.parametrize(("whole", "half", "chosen"), [
    (LESS, [RIGHT] * 20, (1.0, "")),
    ([RIGHT] * 19 + [WRONG], LESS, (0.5, "")),
    (BEFORE, [RIGHT] * 19 + [WRONG], (0.5, "1 are misunderstood with it, 0 without")),
    (BEFORE, BEFORE, (1.0, "as many are misunderstood or asked back as without it")),
])
def test_the_strongest_that_may_be_kept(
    whole: list[Hearing], half: list[Hearing], chosen: tuple[float, str]
) -> None:
    heard = {strength: [replace(one, line=n) for n, one in enumerate(lines)]
             for strength, lines in ((0.0, BEFORE), (1.0, whole), (0.5, half))}
    strength, after, why_not = _chosen(heard[0.0], lambda strength: heard[strength])
    assert (strength, why_not) == chosen
    assert after == heard[strength]
