"""What is concluded from draws that are written down by hand: causes, levels, rates and waits."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest

from fieldvoice.quantity.constants import from_microns
from fieldvoice.trade.vacuum import decay_causes
from fieldvoice.trade.vacuum.decay_causes import CAUSES, STANDS
from fieldvoice.trade.vacuum.decay_family import LEVEL, Curves
from fieldvoice.trade.vacuum.decay_shapes import Fits
from fieldvoice.trade.vacuum.decay_types import DecayLimits, Verdict

AT_ONCE = 0.01  # minutes: a rise that has levelled off long before the end of the hold
LIMITS = DecayLimits("100 Pa, 10 minutes", 100.0, 10.0, "made up for the test")
TIGHT, WET, LEAKING = (float(CAUSES.index(v)) for v in (Verdict.TIGHT, Verdict.WET,
                                                         Verdict.LEAKING))


def fits(
    *draws: tuple[float, float, float], chance: Sequence[float] = (), level: float = 1.0,
    drift: float = 0.0, falling: Sequence[bool] = (), gain: float = 1.0,
) -> Fits:
    """Draws of (start Pa, rate Pa/min, swing Pa), each a shape of its own, equally likely."""
    count = len(draws)
    start, rate, swing = (np.array(column, dtype=float)[:, None]
                          for column in zip(*draws, strict=True))
    shares = np.array(chance or [1.0 / count] * count)[:, None]
    curves = Curves(np.full(count, AT_ONCE), np.full(count, drift),
                    np.array(falling or [False] * count))
    by_name = [0.0] * 6
    by_name[LEVEL] = level
    return Fits(shares, start, rate, swing, curves, np.array([gain]), tuple(by_name), 1.0)


@pytest.mark.parametrize(
    ("draw", "gain", "cause"),
    # the words of judge_decay, at 100 Pa and ten minutes
    [
        ((50.0, 2.0, 0.0), 1.0, TIGHT),  # 70 at the end, 90 after another hold
        ((50.0, 2.5, 0.0), 1.0, TIGHT),  # 75, and exactly at the limit after another
        ((50.0, 3.0, 0.0), 1.0, LEAKING),  # 80, but 110 after another
        ((50.0, 0.0, 45.0), 1.0, TIGHT),  # 95, and stays there
        ((50.0, 4.0, 40.0), 1.0, LEAKING),  # 130, half of the rise steady
        ((50.0, 3.9, 40.0), 1.0, WET),  # 129, less than half
        ((100.0, 0.0, 0.0), 1.0, TIGHT),  # at the limit is not above it
        ((120.0, 1.1, 0.0), 1.0, STANDS),  # above from the start, a rise of 11 in 120
        ((120.0, 1.2, 0.0), 1.0, LEAKING),  # a tenth is no longer hardly
        ((120.0, 0.0, 11.0), 1.0, STANDS),
        ((120.0, 0.0, 13.0), 1.0, WET),
        ((50.0, 0.0, 58.0), 1.1, TIGHT),  # 108 by a gauge that shows a tenth too much
        ((50.0, 0.0, 45.0), 0.9, WET),  # 95 by one that shows a tenth too little
    ],
)
def test_each_draw_stands_for_the_cause_that_the_words_say(
    draw: tuple[float, float, float], gain: float, cause: float
) -> None:
    assert decay_causes.cause_of_draws(fits(draw, gain=gain), LIMITS) == cause


def test_the_steady_share_is_of_the_part_that_levels_off() -> None:
    assert decay_causes.steady_share(fits((50, 2, 80)), 10.0) == pytest.approx(20 / 80)
    mixed = fits((50, 2, 0), (50, 0, 80), chance=(0.25, 0.75))
    assert decay_causes.steady_share(mixed, 10.0) == pytest.approx(0.5 * 10 / 60)
    assert decay_causes.steady_share(fits((50, 2, 0)), 10.0) > 1e9  # nothing levels off
    assert decay_causes.steady_share(fits((50, 0, 0)), 10.0) == 0.0


@pytest.mark.parametrize(
    ("level", "rate", "said"),
    # half the draws rise by `rate` for ten minutes, all level off by 100 Pa: share rate / 20
    [(0.9, 20.0, True), (0.3, 20.0, True), (0.29, 20.0, False), (0.31, 20.0, True),
     (0.29, 2.0, True), (0.29, 2.2, False), (0.29, 1.0, True), (0.011, 1.0, True),
     (0.01, 1.0, True), (0.009, 1.0, False)],
)
def test_a_plateau_is_said_where_levelling_is_likely_or_the_steady_part_small(
    level: float, rate: float, said: bool
) -> None:
    found = decay_causes.plateau(fits((50, rate, 100), (50, 0, 100), level=level), 10.0)
    assert found == (pytest.approx(150.0) if said else None)


def test_a_plateau_is_the_median_of_the_draws_that_level_off() -> None:
    levelling = [(50, 0, 250), (50, 0, 50), (50, 0, 150)]  # 300, 100 and 200 Pa
    assert decay_causes.plateau(fits(*levelling, chance=(0.3, 0.2, 0.5)), 10.0) == 200.0
    assert decay_causes.plateau(fits(*levelling, chance=(0.6, 0.2, 0.2)), 10.0) == 300.0
    assert decay_causes.plateau(fits(*levelling, chance=(0.1, 0.6, 0.3)), 10.0) == 100.0


def test_flat_steady_and_outgassing_draws_have_no_plateau() -> None:
    draws = [(50, 0, 100), (900, 0, 0), (900, 1, 100), (900, 0, 100)]
    found = fits(*draws, chance=(0.1, 0.3, 0.3, 0.3), falling=(False, False, False, True))
    assert decay_causes.plateau(found, 10.0) == 150.0
    assert decay_causes.plateau(fits((900, 0, 0)), 10.0) is None


def test_the_plateau_of_a_warming_pipe_is_where_it_ends_up() -> None:
    # 0.9 % a minute of water's level for ten minutes
    assert decay_causes.plateau(fits((50, 0, 100), drift=0.009), 10.0) == pytest.approx(159.0)


def test_the_missed_rate_is_above_19_in_20_of_the_steady_draws_alone() -> None:
    rates = [(50, rate, 0) for rate in range(100, 0, -1)]
    found = fits(*rates, *[(50, 0, 100)] * 300, chance=[1.0] * 400)
    assert decay_causes.missed_rate(found) == 95.0
    assert decay_causes.missed_rate(fits((50, 0, 100))) == 0.0
    assert decay_causes.missed_rate(fits((50, 0.2, 0))) == 0.2


def more(
    found: Fits, cause: Sequence[float], last: float = 10.0, hold: float = 10.0,
    noise: tuple[float, float] = (0.0, 1.0),
) -> float:
    return decay_causes.minutes_more(found, np.array(cause)[:, None], last, hold, noise)


@pytest.mark.parametrize(
    ("extra", "before"),
    [(2, 0), (3, 2), (5, 3), (8, 5), (10, 8), (15, 10), (20, 15), (30, 20), (45, 30), (60, 45),
     (90, 60), (120, 90)],
)
def test_the_wait_is_the_first_at_which_a_leak_is_five_errors_from_tight(
    extra: float, before: float
) -> None:
    # flat at 50 Pa or a steady rise that is 5 Pa above it between the two waits; error 1 Pa
    for share, expected in ((0.99, extra), (0.01, extra)):
        reached = 10.0 + before + share * (extra - before)
        found = fits((50, 0, 0), (50, 5.0 / reached, 0))
        assert more(found, (TIGHT, LEAKING)) == expected


def test_what_never_parts_waits_the_longest() -> None:
    assert more(fits((50, 0, 0), (50, 0.001, 0)), (TIGHT, LEAKING)) == 120.0


def test_the_error_grows_with_the_pressures_between_the_two() -> None:
    # 5 errors of a tenth of the mean of 100 and 100 + 5 t: passed from t = 13.3 on
    found = fits((100, 0, 0), (100, 5, 0))
    assert more(found, (TIGHT, LEAKING), noise=(0.1, 0.0)) == 5.0


@pytest.mark.parametrize(
    ("last", "hold", "wait"), [(10.0, 10.0, 2.0), (30.0, 10.0, 2.0), (10.0, 20.0, 10.0),
                               (10.0, 20.5, 15.0), (1.0, 60.0, 60.0)],
)
def test_no_wait_ends_before_the_hold(last: float, hold: float, wait: float) -> None:
    assert more(fits((50, 0, 0), (50, 9, 0)), (TIGHT, LEAKING), last, hold) == wait


def test_moisture_and_a_leak_take_twenty_minutes_to_bend_apart() -> None:
    parted = fits((50, 0, 100), (50, 9, 0), (50, 0, 0), chance=(0.4, 0.4, 0.2))
    assert more(parted, (WET, LEAKING, TIGHT)) == 20.0
    assert more(parted, (WET, LEAKING, TIGHT), hold=12.0) == 30.0
    assert more(parted, (WET, TIGHT, LEAKING)) == 2.0


@pytest.mark.parametrize(("other", "wait"), [(0.019, 0.0), (0.02, 2.0), (0.03, 2.0)])
def test_a_cause_below_one_in_fifty_is_not_waited_for(other: float, wait: float) -> None:
    found = fits((50, 0, 0), (50, 9, 0), chance=(1.0 - other, other))
    assert more(found, (TIGHT, LEAKING)) == wait
    assert more(found, (TIGHT, LEAKING), last=4.0) == (6.0 if wait == 0.0 else 8.0)


def test_a_level_may_be_that_of_water_at_the_pipe_with_some_to_spare() -> None:
    # IAPWS SR1-86: 17,546 microns at 20 C, 9,594.9 Pa at 45 C (steam tables, from memory)
    at_20 = from_microns(1.15 * 17_546 + 500)
    assert decay_causes.ceiling_pa(20.0) == pytest.approx(at_20, rel=1e-3)
    assert decay_causes.ceiling_pa(None) == pytest.approx(1.15 * 9_594.9 + 66.661, rel=1e-3)


def test_water_enough_heads_for_three_quarters_of_its_pressure_at_the_pipe() -> None:
    # IAPWS SR1-86: 17,546 microns at 20 C, 6,545 at 5 C
    for celsius, microns in ((20.0, 17_546), (5.0, 6_545)):
        expected = (from_microns(0.75 * microns), from_microns(0.25 * microns))
        assert decay_causes.water_pa(celsius) == pytest.approx(expected, rel=1e-3)
    # a pin: what is assumed of a pipe not known, 10,000 microns or so either way of 15,000
    assert decay_causes.water_pa(None) == pytest.approx((1999.84, 1066.58), rel=1e-4)
