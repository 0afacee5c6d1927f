"""A gauge too coarse for the limit is refused for a hold."""

from __future__ import annotations

import pytest

from fieldvoice.quantity.constants import PA_PER_IN_HG, PA_PER_PSI, from_microns
from fieldvoice.trade.vacuum.gauge_step import seen_steps_pa, unfit_for_hold

LIMIT = from_microns(500)


@pytest.mark.parametrize(
    ("step_pa", "said"),
    # one inch of mercury is 25,400 microns exactly (NIST SP 811 conventional mercury)
    [(0.01 * PA_PER_IN_HG, "254 microns"), (0.1 * PA_PER_IN_HG, "2540 microns"),
     (0.1 * PA_PER_PSI, "5171 microns"), (from_microns(101), "101 microns")],
    ids=["29.91 inHg", "29.9 inHg", "-14.6 psig", "just too coarse"],
)
def test_a_step_too_coarse_for_the_limit_is_refused_with_the_reason(
    step_pa: float, said: str
) -> None:
    why = unfit_for_hold(step_pa, LIMIT)
    assert why is not None
    assert said in why
    assert "limit of 500" in why
    assert "steps of 100 microns or finer" in why


@pytest.mark.parametrize("microns", [0.1, 1.0, 10.0, 25.0, 100.0])
def test_a_step_that_carries_the_limit_is_taken(microns: float) -> None:
    assert unfit_for_hold(from_microns(microns), LIMIT) is None


def test_a_coarse_step_may_carry_a_high_limit() -> None:
    assert unfit_for_hold(0.01 * PA_PER_IN_HG, from_microns(5_000)) is None


@pytest.mark.parametrize(
    ("shown", "steps"),
    [
        ([412.0, 418.0, 423.0], [0.0, 0.0, 0.0]),  # moves by single microns
        ([250.0, 1300.0, 1350.0, 1400.0], [25.0, 50.0, 50.0, 100.0]),
        ([87.0, 9_500.0, 11_000.0], [0.0, 500.0, 1_000.0]),
        ([100.0, 250.0], [10.0, 25.0]),  # never more than an eighth of the reading
    ],
)
def test_the_step_is_what_all_readings_as_high_have_in_common(
    shown: list[float], steps: list[float]
) -> None:
    seen = seen_steps_pa([from_microns(p) for p in shown])
    assert seen == pytest.approx([from_microns(s) for s in steps])


@pytest.mark.parametrize("step", [1_000, 500, 250, 200, 100, 50, 25, 20, 10, 5, 2])
def test_each_step_that_displays_move_by_is_seen(step: float) -> None:
    # odd numbers of steps, none of which a larger step divides as well
    seen = seen_steps_pa([from_microns(step * count) for count in (9, 11, 13)])
    assert seen == pytest.approx([from_microns(step)] * 3)


@pytest.mark.parametrize(
    ("shown", "step"),
    # at most 0.12 of the reading: 50 of 417, 100 of 834
    [(800.0, 50.0), (850.0, 50.0), (900.0, 100.0), (400.0, 25.0), (450.0, 50.0), (16.0, 0.0),
     (18.0, 2.0)],
)
def test_a_step_is_at_most_an_eighth_of_the_reading(shown: float, step: float) -> None:
    assert seen_steps_pa([from_microns(shown)]) == pytest.approx([from_microns(step)])
