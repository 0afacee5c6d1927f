"""Readings that cannot be, beside the others, are asked back with the reason."""

from __future__ import annotations

import pytest

from fieldvoice.jobstate import events as e
from fieldvoice.language import intents as i
from fieldvoice.quantity.relations import relations
from support.bench import Bench
from support.every_sort import TEXT as EVERY_SORT
from support.every_sort import at

TEXT = """\
procedure read-all "Read whatever is said"
stage safe "Safe"
step prove
  say "Read the gauges."
step crack-liquid
  say "Crack the valve."
stage check "Check"
step look
  say "Read it."
stage air "Air"
step split
  say "Read the air."
stage heating "Heating"
step warm
  say "Read the air."
step last
  say "Done."
  end done
"""


def job(step: str = "look", refrigerant: str = "R-410A") -> Bench:
    bench = Bench(TEXT, {"refrigerant": refrigerant})
    for _ in range(9):
        if bench.state.step == step:
            return bench
        bench.say(i.Next())
    raise AssertionError(step)


Read = tuple[str, int, str]  # quantity, value, unit
CASES = [
    ("prove", ("suction-pressure", 0, "psig"), ("suction-pressure", 120, "psig"),
     "Zero was proved, and no step has opened a valve since. "
     "The last suction pressure is 0 psig."),
    ("prove", ("nitrogen-pressure", 0, "psig"), ("suction-pressure", 120, "psig"),
     "Zero was proved, and"),
    ("look", ("suction-pressure", 130, "psig"), ("liquid-pressure", 110, "psig"),
     "The head is never below the suction. The last suction pressure is 130 psig."),
    ("look", ("liquid-pressure", 110, "psig"), ("suction-pressure", 130, "psig"),
     "The head is never below the suction. The last liquid pressure is 110 psig."),
    ("look", ("liquid-pressure", 400, "psig"), ("discharge-pressure", 350, "psig"),
     "Pressure falls from the discharge to the liquid line."),
    ("look", ("indoor-dry-bulb", 70, "degF"), ("indoor-wet-bulb", 74, "degF"),
     "A wet bulb is never above the dry bulb. The last indoor dry bulb is 70 °F."),
    ("look", ("indoor-wet-bulb", 74, "degF"), ("indoor-dry-bulb", 70, "degF"),
     "A wet bulb is never above the dry bulb."),
    ("air", ("return-air", 72, "degF"), ("supply-air", 76, "degF"),
     "In cooling the supply is never warmer than the return."),
    # R-410A at 355 psig: bubble 108 F (Johnson Controls CSV p. 63)
    ("look", ("liquid-pressure", 355, "psig"), ("liquid-temperature", 115, "degF"),
     "A liquid line is never hotter than saturation. The last liquid pressure is 355 psig. "
     "It is 108 °F there."),
    ("look", ("liquid-temperature", 115, "degF"), ("liquid-pressure", 355, "psig"),
     "A liquid line is never hotter than saturation."),
    # R-410A at 118 psig: dew 40 F (printed chart, tests/trade/test_saturation.py)
    ("look", ("suction-pressure", 118, "psig"), ("suction-temperature", 30, "degF"),
     "A suction line is never colder than saturation."),
    ("look", ("outdoor-temperature", 95, "degF"), ("liquid-temperature", 85, "degF"),
     "In cooling the liquid line is never colder than the outdoor air."),
    ("prove", ("liquid-pressure", 0, "psig"), ("liquid-pressure", 120, "psig"),
     "Zero was proved, and no step has opened a valve since. The last liquid pressure is 0 psig."),
    ("look", ("suction-pressure", 130, "psig"), ("discharge-pressure", 110, "psig"),
     "The discharge is never below the suction."),
    ("look", ("return-air", 70, "degF"), ("indoor-wet-bulb", 74, "degF"),
     "A wet bulb is never above the air that it hangs in."),
]


@pytest.mark.parametrize(("step", "first", "then", "because"), CASES)
def test_a_reading_that_cannot_be_beside_another_is_asked_back_and_counts_after_a_yes(
    step: str, first: Read, then: Read, because: str
) -> None:
    bench = job("split" if step == "air" else step)
    bench.read(first[1], first[2], first[0])
    if bench.state.question is not None:  # a liquid line at zero is read back for itself
        bench.say(i.Yes())
    bench.wait(minutes=1)
    said = bench.read(then[1], then[2], then[0])
    assert because in said, said
    assert len(bench.events(e.ReadingTaken)) == 1
    bench.say(i.Yes())
    assert bench.state.last(then[0]).quantity == then[0]


@pytest.mark.parametrize(
    "quantity", ["nitrogen-pressure", "suction-pressure", "liquid-pressure"])
def test_there_is_no_pressure_in_a_standing_vacuum(quantity: str) -> None:
    bench = at(Bench(EVERY_SORT), "stand")
    bench.say(i.StartHold())
    said = bench.read(300, "psig", quantity)
    assert "The standing vacuum runs: there is no" in said
    assert bench.state.question is not None


@pytest.mark.parametrize(
    ("step", "first", "then", "minutes"),
    [
        ("look", ("suction-pressure", 118, "psig"), ("liquid-pressure", 355, "psig"), 1),
        ("look", ("suction-pressure", 200, "psig"), ("liquid-pressure", 198, "psig"), 1),  # at rest
        ("look", ("suction-pressure", 130, "psig"), ("liquid-pressure", 110, "psig"), 30),  # old
        ("crack-liquid", ("suction-pressure", 0, "psig"), ("suction-pressure", 120, "psig"), 1),
        ("look", ("nitrogen-pressure", 0, "psig"), ("nitrogen-pressure", 150, "psig"), 1),
        ("warm", ("return-air", 70, "degF"), ("supply-air", 95, "degF"), 1),  # heating
        ("look", ("liquid-pressure", 355, "psig"), ("liquid-temperature", 98, "degF"), 1),
        ("look", ("suction-pressure", 118, "psig"), ("suction-temperature", 58, "degF"), 1),
    ],
)
def test_what_can_be_is_taken(
    step: str, first: Read, then: Read, minutes: int
) -> None:
    bench = job(step)
    bench.read(first[1], first[2], first[0])
    bench.wait(minutes=minutes)
    bench.read(then[1], then[2], then[0])
    assert bench.state.question is None


def test_a_step_that_opens_the_valve_ends_the_proof_of_zero() -> None:
    bench = job("prove")
    bench.read(0, "psig", "suction-pressure")
    bench.say(i.Next())
    bench.say(i.Next())
    bench.read(120, "psig", "suction-pressure")
    assert bench.state.question is None


def test_a_refrigerant_that_is_not_known_says_nothing_of_saturation() -> None:
    bench = job(refrigerant="R-999")
    bench.read(355, "psig", "liquid-pressure")
    bench.read(115, "degF", "liquid-temperature")
    assert bench.state.question is None


def test_every_row_has_its_case() -> None:
    broken = {(then[0], because.split(".")[0]) for _, _, then, because in CASES}
    for row in relations():
        sides = {side.quantity for side in (row.lower, row.higher) if side is not None}
        alike = [quantity for quantity, why in broken if row.because.startswith(why)]
        assert row.during or sides & set(alike), row.name
