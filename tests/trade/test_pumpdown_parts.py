"""Causes and words of a pull, on both sides of where they change."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from fieldvoice.quantity.constants import from_microns
from fieldvoice.trade.vacuum import pumpdown_causes as causes
from fieldvoice.trade.vacuum import pumpdown_words as words

# IAPWS: 2339.3 Pa over water at 20 C; triple point at 611.657 Pa
BOILS, FREEZES = "water boiling off", "water freezing"
OPEN, NOT_THE_PUMP = "leak, moisture or pump", "leak or moisture"


@pytest.mark.parametrize(
    ("last_pa", "ambient_c", "cause"),
    [
        (1390.0, 20.0, OPEN), (1415.0, 20.0, BOILS), (3030.0, 20.0, BOILS), (3050.0, 20.0, OPEN),
        (2339.0, None, OPEN), (425.0, None, OPEN), (431.0, None, FREEZES), (611.657, None, FREEZES),
        (850.0, None, FREEZES), (862.0, None, OPEN), (611.657, 20.0, FREEZES),
        (611.0, 0.0, BOILS),  # at a pipe of 0 C water boils there
    ],
)
def test_water_is_named_from_around_its_own_levels(
    last_pa: float, ambient_c: float | None, cause: str
) -> None:
    assert causes.of_a_stall(last_pa, 0.0, ambient_c, None) == cause
    assert causes.NEXT_ACTIONS[cause]


@pytest.mark.parametrize(
    ("slope", "cause"),
    # ln of a rise in five minutes: 0.15
    [(-0.1, OPEN), (0.0, OPEN), (0.029, OPEN), (0.031, causes.RISES)],
)
def test_a_rise_of_a_sixth_in_five_minutes_is_no_stall(slope: float, cause: str) -> None:
    assert causes.of_a_stall(100.0, slope, 20.0, None) == cause


@pytest.mark.parametrize(
    ("last", "blank_off", "cause"),
    [(119, 60, causes.PUMP), (120, 60, NOT_THE_PUMP), (240, 110, NOT_THE_PUMP),
     (219, 110, causes.OLD_OIL)],
)
def test_below_twice_its_blank_off_the_rig_holds_a_pull_up(
    last: float, blank_off: float, cause: str
) -> None:
    assert causes.of_a_stall(from_microns(last), 0.0, 20.0, from_microns(blank_off)) == cause


@pytest.mark.parametrize(("microns", "cause"), [(60, causes.PUMP), (100, causes.PUMP),
                                                (101, causes.OLD_OIL), (190, causes.OLD_OIL)])
def test_a_blank_off_above_a_hundred_microns_speaks_of_the_oil(microns: float, cause: str) -> None:
    assert causes.of_the_rig(from_microns(microns)) == cause


FALLS = words.Told(
    last_pa=from_microns(1600), target_pa=from_microns(500), low=3.4, middle=6.4, high=11.2,
    chance=0.8, cause=None, stalled=False, falls=True, blank_off_pa=None, refuted=False)


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({}, "About 6 minutes to 500 microns, between 3 and 12 minutes, if it gets there; "
             "20 of 100 such pulls do not within two hours."),
        ({"chance": 0.97}, "About 6 minutes to 500 microns, between 3 and 12 minutes."),
        ({"chance": 0.96}, "About 6 minutes to 500 microns, between 3 and 12 minutes, if it gets "
                           "there; 4 of 100 such pulls do not within two hours."),
        ({"low": 0.9, "chance": 1.0}, "About 6 minutes to 500 microns, at most 12 minutes."),
        ({"low": 1.0, "chance": 1.0},
         "About 6 minutes to 500 microns, between 1 and 12 minutes."),
        ({"low": 0.1, "middle": 0.5, "high": 1.0, "chance": 1.0}, "Under a minute to 500 microns."),
        ({"low": 0.1, "middle": 0.9, "high": 1.1, "chance": 1.0},
         "Under a minute to 500 microns, at most 2 minutes."),
        ({"low": 0.1, "middle": 1.0, "high": 1.1, "chance": 1.0},
         "About 1 minute to 500 microns, at most 2 minutes."),
        ({"last_pa": from_microns(500)}, "Already at 500 microns."),
        ({"falls": False}, "1600 microns so far; its fall alone will likely stop short. As water "
                           "dries up, 80 of 100 such pulls get to 500 microns within two hours, "
                           "half of those in 6 minutes."),
        ({"falls": False, "middle": math.inf}, "1600 microns so far; its fall alone will likely "
         "stop short. As water dries up, 80 of 100 such pulls get to 500 microns within two "
         "hours."),
        ({"falls": False, "middle": math.inf, "chance": 0.004}, "1600 microns so far; its fall "
         "alone will likely stop short. As water dries up, fewer than 1 of 100 such pulls get to "
         "500 microns within two hours."),
        ({"falls": False, "middle": math.inf, "chance": 0.01, "target_pa": from_microns(1)},
         "1600 microns so far; its fall alone will likely stop short. As water dries up, 1 of 100 "
         "such pulls gets to 1 micron within two hours."),
        ({"falls": False, "middle": math.inf, "chance": 0.996}, "1600 microns so far; its fall "
         "alone will likely stop short. As water dries up, more than 99 of 100 such pulls get to "
         "500 microns within two hours."),
        ({"falls": False, "stalled": True, "cause": FREEZES, "middle": 0.5},
         "1600 microns and hardly falling: water freezing. As water dries up, 80 of 100 such pulls "
         "get to 500 microns within two hours, half of those in a minute."),
        ({"cause": causes.RISES}, "1600 microns, and the pressure is rising: no forecast until it "
                                  "falls."),
        ({"blank_off_pa": from_microns(500), "cause": causes.OLD_OIL},
         "The rig alone read 500 microns at blank-off: it cannot reach 500 microns. Likely "
         "contaminated pump oil."),
        ({"blank_off_pa": from_microns(499), "chance": 1.0},
         "About 6 minutes to 500 microns, between 3 and 12 minutes."),
        ({"blank_off_pa": from_microns(1900), "refuted": True, "chance": 1.0},
         "The pull reads below the blank-off of 1900 microns: that reading no longer holds. "
         "About 6 minutes to 500 microns, between 3 and 12 minutes."),
    ],
)
def test_a_forecast_is_said_word_for_word(changed: dict[str, float], said: str) -> None:
    assert words.reason(replace(FALLS, **changed)) == said  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("changed", "said"),
    [({}, "Keep pumping."), ({"last_pa": from_microns(500)},
                             "Go on until it is dry, then isolate and start the hold."),
     ({"cause": FREEZES}, "Break with dry nitrogen, warm the low spots, and pull again.")],
)
def test_each_forecast_says_what_to_do(changed: dict[str, float], said: str) -> None:
    assert words.next_action(replace(FALLS, **changed)) == said  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("changed", "out"),
    [({}, False), ({"blank_off_pa": from_microns(499)}, False),
     ({"blank_off_pa": from_microns(500)}, True),
     ({"blank_off_pa": from_microns(600), "refuted": True}, False),
     ({"blank_off_pa": from_microns(600), "last_pa": from_microns(500)}, False)],
)
def test_a_target_is_out_of_reach_at_its_blank_off_and_below(
    changed: dict[str, float], out: bool
) -> None:
    assert replace(FALLS, **changed).out_of_reach is out  # type: ignore[arg-type]
