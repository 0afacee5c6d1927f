"""Charge that is added takes the room into question again."""

from __future__ import annotations

from decimal import Decimal

import pytest

from fieldvoice.jobstate import events as e
from fieldvoice.language import intents as i
from support.bench import Bench

TEXT = """\
procedure charge "Add some charge"
limit room-charge = 0.33 lb then room-charge of refrigerant-class source "common practice"
stage safe "Safe"
step refrigerant-amount
  say "Tell me the refrigerant amount."
  read refrigerant-amount
step refrigerant-class
  say "Not flammable, mildly flammable, or highly flammable?"
  choose not-flammable
  choose mildly-flammable
  choose highly-flammable
step room-size
  only when refrigerant-class is mildly-flammable or highly-flammable
  only when refrigerant-amount at least room-charge
  say "Check that the room is large enough."
stage charge "Charge"
step add
  say "Add a little, then tell me the charge added."
  read charge-added
step again
  say "Add a little, then tell me the charge added."
  read charge-added
step last
  say "Done."
  end done
"""
# 6 m3 x 0.307 kg/m3 (UL 60335-2-40 and ASHRAE 34, from memory), 4.06 lb
ASKED = ("It holds 4.12 lb now, and from 4.06 lb up the room counts. "
         "Is the room large enough? Say yes or no.")


def charged(plate: float, burns: str = "mildly-flammable", refrigerant: str = "R-32") -> Bench:
    """A job at the first addition."""
    bench = Bench(TEXT, {"refrigerant": refrigerant})
    bench.read(plate, "lb")
    if bench.state.question:  # little for a split system: read back
        bench.say(i.Yes())
    bench.say(i.Choose(burns))
    if bench.state.step == "room-size":
        bench.say(i.Next())
    assert bench.state.step == "add"
    return bench


def test_charge_that_takes_the_total_past_the_limit_puts_the_room_question_first() -> None:
    bench = charged(4.0)
    assert bench.read(2, "oz") == f"2 oz. {ASKED}"
    assert bench.state.step == "add"
    assert bench.say(i.Repeat()) == ASKED
    assert "Add a little" in bench.say(i.Yes())
    room = [v for v in bench.events(e.VerdictGiven) if isinstance(v, e.VerdictGiven)]
    assert [(v.about, v.verdict) for v in room] == [("room", "large-enough")]
    assert room[0].figures["total_kg"] == pytest.approx(4.125 * 0.45359237)
    assert bench.state.step == "again"
    bench.read(2, "oz")
    assert bench.state.step == "last"  # asked once


def test_a_room_too_small_holds_the_job_until_charge_is_taken_out() -> None:
    bench = charged(4.0)
    bench.read(2, "oz")
    assert bench.say(i.No()) == ("Then no more charge. Recover it below 4.06 lb, and tell me the "
                                 "charge added, as minus.")
    assert bench.events(e.VerdictGiven)[-1].verdict == "too-small"
    assert bench.say(i.Next()) == ASKED
    bench.read(-3, "oz")
    assert bench.state.question is None
    assert bench.state.step == "again"


def test_additions_are_summed() -> None:
    bench = charged(3.9)
    bench.read(2, "oz")
    assert bench.state.step == "again"
    bench.read(1, "oz")
    assert bench.state.question is not None


def test_a_plate_that_is_corrected_past_the_limit_puts_the_question_too() -> None:
    bench = charged(3.0)
    bench.say(i.ChangeReading("refrigerant-amount", Decimal("5"), "lb"))
    assert "It holds 5.06 lb now" in bench.read(1, "oz")


@pytest.mark.parametrize(
    ("plate", "burns", "refrigerant", "added"),
    [
        (3.0, "mildly-flammable", "R-32", 8),  # stays below
        (4.0, "not-flammable", "R-410A", 8),  # does not burn
        (4.2, "mildly-flammable", "R-32", 8),  # the room was asked for at the start
        (3.0, "mildly-flammable", "R-32", 48),  # the whole charge, into an empty system
    ],
)
def test_nothing_is_asked_where_the_limit_is_not_crossed(
    plate: float, burns: str, refrigerant: str, added: int
) -> None:
    bench = charged(plate, burns, refrigerant)
    bench.read(added, "oz")
    assert bench.state.step == "again"


def test_of_an_a3_a_few_ounces_take_it_past() -> None:
    """IEC 60335-2-40 and ASHRAE 34, from memory: 4 m3 x 0.038 kg/m3 of propane, 0.33 lb."""
    bench = charged(0.5, "highly-flammable", "R-999")
    assert bench.state.step == "add"  # the room was asked for at the start
    bench = charged(0.32, "highly-flammable", "R-999")
    assert "from 0.33 lb up the room counts" in bench.read(1, "oz")
