"""Steps played through: what is expected is believed more readily, the rest less."""

import pytest

from fieldvoice.dialogue.expectation import Expected
from fieldvoice.language.parser import understand
from fieldvoice.training.evaluate import expectation_gain
from fieldvoice.training.evaluate.scoring import Result, shares

# torn between two readings; the first was said, and is a little less likely by ear
TORN = Result(
    ("vacuum", "fifty"), ("suction", "fifty"), (0.52, 1.0), 2.0, 0.1,
    (("suction fifty", 0.52), ("vacuum fifty", 0.48)),
)  # fmt: skip
CLEAR = Result(("next",), ("next",), (0.999,), 1.0, 0.1, (("next", 0.999), ("six", 0.001)))


@pytest.mark.parametrize(
    ("line", "likely"),
    [
        ("suction one eighteen", Expected(("suction-pressure",))),
        ("four hundred microns", Expected(("vacuum",))),
        ("single pull", Expected(options=("single-pull",))),
        ("next", Expected(intents=("next",))),
    ],
)
def test_a_step_waits_for_what_a_line_says(line: str, likely: Expected) -> None:
    assert expectation_gain.waiting_for(understand(line, typed=False)) == likely


def test_a_step_that_waits_for_it_decides_a_torn_line() -> None:
    lines = [TORN] + [CLEAR] * 9
    (alone, *_) = expectation_gain.under_steps(lines, expectation_gain.NOTHING)
    (waited, *_) = expectation_gain.under_steps(lines, expectation_gain.THIS)
    assert not alone.same_meaning
    assert waited.same_meaning


def test_a_clear_line_counts_whatever_the_step_waits_for() -> None:
    for steps in expectation_gain.STEPS:
        told = shares(expectation_gain.under_steps([TORN] * 7 + [CLEAR] * 3, steps)[-3:])
        assert told["acted_on"] == 1.0, steps


def test_a_line_that_is_waited_for_is_surer() -> None:
    doubtful = Result(("next",), ("next",), (0.8,), 1.0, 0.1, (("next", 0.8), ("ten", 0.2)))
    vacuum = expectation_gain.expecting(expectation_gain.VACUUM_STEP)
    assert vacuum(understand("next"))
    assert not vacuum(understand("skip"))
    (this, *_) = expectation_gain.under_steps([doubtful] * 8, expectation_gain.THIS)
    (nothing, *_) = expectation_gain.under_steps([doubtful] * 8, expectation_gain.NOTHING)
    assert this.confidence > nothing.confidence
