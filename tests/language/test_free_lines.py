"""Typed lines that end in words of one's own: a title, a name, a reason."""

from __future__ import annotations

from datetime import timedelta

import pytest

from fieldvoice.language.intents import (
    CarryTest,
    GoTo,
    NotUnderstood,
    SkipStage,
    StandBy,
    StartHold,
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
        ("go to sleep", StandBy()),
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


def test_nothing_of_it_can_be_heard() -> None:
    assert isinstance(understand("go to rig the pump", typed=False), NotUnderstood)


def test_two_lengths_in_one_breath_are_asked_back() -> None:
    asked = understand("start a ten minute hold because the manual says five minutes")
    assert isinstance(asked, NotUnderstood)
    assert asked.kind == "two-ways"
