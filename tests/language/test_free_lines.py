"""Typed lines that end in words of one's own: a title, a name, a reason."""

from __future__ import annotations

from datetime import timedelta

import pytest

from fieldvoice.language.intents import (
    CarryTest,
    GoTo,
    NotUnderstood,
    Reading,
    SkipStage,
    StartHold,
    TellFact,
)
from fieldvoice.language.parser import understand


@pytest.mark.parametrize(
    ("line", "intent"),
    [
        ("go to rig the pump", GoTo(title="rig the pump")),
        ("Go to: the Banana!", GoTo(title="Banana")),
        ("go back to first stage", GoTo(title="first stage", direction="back")),
        ("start at full pressure", GoTo(title="full pressure")),
        ("nitrogen test passed 2026-11-26 by Lee Park 450 psig 24 h",
         CarryTest("nitrogen-test", "passed", "2026-11-26", "Lee Park", "450 psig 24 h")),
        ("standing test failed yesterday by Mo", CarryTest("standing-test", "failed",
                                                           "1 days ago", "Mo")),
        ("the nitrogen test was done by Lee Park", CarryTest("nitrogen-test", by="Lee Park")),
        ("decay test held two days ago, 480 microns after 10 min",
         CarryTest("standing-test", "passed", "2 days ago", None, "480 microns after 10 min")),
        ("standing test from job unit-12b", CarryTest("standing-test", job="unit-12b")),
        ("nitrogen test is from the job Roof_3", CarryTest("nitrogen-test", job="Roof_3")),
        ("start a 5 min hold because the book says so", StartHold(timedelta(minutes=5),
                                                                  "the book says so")),
        ("skip this stage because the roof is wet", SkipStage("the roof is wet")),
        ("go back to the truck", GoTo(title="truck", direction="back")),
    ],
)  # fmt: skip
def test_what_follows_is_kept_as_it_was_typed(line: str, intent: object) -> None:
    assert understand(line) == intent


@pytest.mark.parametrize("line", [
    "banana test passed yesterday", "vacuum from job x", "next because x", "go to",
    "nitrogen test from job", "go to " + "x" * 200, "start a ten minute hold by the manual 5 min",
])
def test_what_has_no_such_opening_stays_unknown(line: str) -> None:
    assert isinstance(understand(line), NotUnderstood)


@pytest.mark.parametrize("line", ["go to rig the pump", "go back to the truck"])
def test_nothing_of_it_can_be_heard(line: str) -> None:
    assert isinstance(understand(line, typed=False), NotUnderstood)


def test_the_wording_of_another_program_is_no_title_of_a_stage() -> None:
    assert understand("go to sleep").kind == "taught"


@pytest.mark.parametrize(("line", "same"), [
    ("vac = 412", "vac 412"), ("LLT=95", "LLT 95"), ("suction = 118 psig", "suction 118 psig"),
    ("suction pressure: 118", "suction pressure 118"),
])
def test_a_reading_may_be_typed_with_its_sign(line: str, same: str) -> None:
    assert understand(line) == understand(same)
    assert isinstance(understand(line), Reading)


@pytest.mark.parametrize("line", ["banana = 412", "altitude = 5280 ft", "ambient = 72 F"])
def test_any_other_name_with_its_sign_is_a_fact(line: str) -> None:
    assert isinstance(understand(line), TellFact)


def test_two_lengths_in_one_breath_are_asked_back() -> None:
    asked = understand("start a ten minute hold because the manual says five minutes")
    assert isinstance(asked, NotUnderstood)
    assert asked.kind == "two-ways"
