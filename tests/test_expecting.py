"""What is likely to be said next follows the job sheet."""

from __future__ import annotations

import pytest
from bench import Bench
from steps_for_tests import TEXT
from test_assistant_steps import at

from fieldvoice.job.expecting import Expected, expected
from fieldvoice.spoken import intents as i


@pytest.mark.parametrize(
    ("step", "likely"),
    [
        ("lock", Expected(intents=("understood",))),
        ("class", Expected(options=("flammable", "not-flammable"))),
        ("outdoor", Expected(quantities=("outdoor-temperature",))),
        ("pull", Expected(("vacuum",), ("break-with-nitrogen",))),
        ("stand", Expected(("vacuum",), (), ("start-hold", "how-long-left"))),
    ],
)
def test_the_open_step_decides(step: str, likely: Expected) -> None:
    assert expected(at(Bench(TEXT), step).sheet) == likely


def test_a_question_a_reason_and_standing_by_come_before_the_step() -> None:
    bench = at(Bench(TEXT), "pull")
    bench.read(530)
    bench.read(4120)
    assert expected(bench.sheet) == Expected(("vacuum",), (), ("yes", "no"))
    bench.say(i.No())
    bench.say(i.Skip())
    assert expected(bench.sheet).free_text
    bench.say(i.No())
    bench.say(i.StandBy())
    assert expected(bench.sheet) == Expected(intents=("back-to-work",))
