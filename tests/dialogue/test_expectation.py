"""What is likely to be said next follows the job state."""

from __future__ import annotations

from decimal import Decimal

import pytest

from fieldvoice.dialogue.expectation import Expected, expected, is_expected
from fieldvoice.language import intents as i
from fieldvoice.language.parser import understand
from support.bench import Bench
from support.every_sort import TEXT, at


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
    assert expected(at(Bench(TEXT), step).state) == likely


def test_a_question_a_reason_and_standing_by_come_before_the_step() -> None:
    bench = at(Bench(TEXT), "pull")
    bench.read(530)
    bench.read(4120)
    assert expected(bench.state) == Expected(("vacuum",), (), ("yes", "no"))
    bench.say(i.No())
    bench.say(i.Skip())
    assert expected(bench.state) == Expected(intents=("end-note", "no"))
    bench.say(i.No())
    bench.say(i.StandBy())
    assert expected(bench.state) == Expected(intents=("back-to-work",))


@pytest.mark.parametrize(
    ("step", "line", "fits"),
    [
        ("pull", "four hundred microns", True),
        ("pull", "vacuum four hundred", True),
        ("pull", "four hundred", True),
        ("pull", "suction one eighteen", False),
        ("pull", "ten degrees", False),
        ("pull", "skip", False),
        ("pull", "break with nitrogen", True),
        ("outdoor", "ninety five", True),
        ("outdoor", "nine hundred", False),  # no outdoor temperature
        ("lock", "understood", True),
        ("lock", "next", False),
        ("stand", "start the hold", True),
    ],
)
def test_what_fits_the_open_step_is_expected(step: str, line: str, fits: bool) -> None:
    assert is_expected(at(Bench(TEXT), step).state, understand(line, typed=False)) == fits


def test_a_reading_far_from_the_last_is_not_expected() -> None:
    bench = at(Bench(TEXT), "pull")
    bench.read(5300)
    assert is_expected(bench.state, i.Reading(Decimal(4120), "microns"))
    bench.read(530)
    assert not is_expected(bench.state, i.Reading(Decimal(4120), "microns"))


def test_an_answer_is_expected_while_a_question_is_open() -> None:
    bench = at(Bench(TEXT), "pull")
    assert not is_expected(bench.state, i.Yes())
    bench.read(530)
    bench.read(4120)
    assert is_expected(bench.state, i.Yes())
    assert is_expected(bench.state, i.Reading(Decimal(412), "microns"))
