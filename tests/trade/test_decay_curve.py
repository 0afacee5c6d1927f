"""The curve that is drawn through a hold is the one that its verdict is judged by."""

import pytest

from fieldvoice.quantity.constants import from_microns
from fieldvoice.trade.errors import TradeError
from fieldvoice.trade.vacuum.decay import VacuumReading, fitted_curve, judge_decay


def readings(*microns: float) -> list[VacuumReading]:
    return [VacuumReading(float(minute), from_microns(level))
            for minute, level in enumerate(microns)]


def test_the_curve_ends_where_the_verdict_says_that_the_fit_is() -> None:
    taken = readings(300, 310, 321, 329, 341, 350)
    (last,) = fitted_curve(taken, [5.0])
    assert last == pytest.approx(judge_decay(taken).fitted_final_pa)


def test_a_steady_rise_goes_on_and_a_flat_one_stays() -> None:
    rising = fitted_curve(readings(300, 320, 340, 360, 380, 400), [2.0, 5.0, 10.0])
    assert rising == pytest.approx([from_microns(m) for m in (340, 400, 500)], rel=0.04)
    flat = fitted_curve(readings(300, 300, 300, 300, 300, 300), [1.0, 10.0])
    assert flat == pytest.approx([from_microns(300)] * 2, rel=0.04)


def test_too_few_readings_have_no_curve() -> None:
    with pytest.raises(TradeError, match="three readings"):
        fitted_curve(readings(300, 310), [1.0])
