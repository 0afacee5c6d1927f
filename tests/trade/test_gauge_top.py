"""When readings stand at the top of a gauge's range."""

from __future__ import annotations

import pytest

from fieldvoice.quantity.constants import from_microns
from fieldvoice.trade.vacuum.gauge_top import at_top

WATER = from_microns(17_546)  # at 20 C, IAPWS SR1-86


@pytest.mark.parametrize(
    ("shown", "count"),
    [
        ([250, 20_000, 20_000, 20_000], 3),
        ([250, 12_000, 20_000, 20_000], 2),
        ([250, 12_000, 19_999, 19_999], 2),
        ([250, 12_000, 19_990, 19_990], 2),
        ([5_000, 5_000], 2),
        ([250, 7_000, 7_000, 7_000], 3),  # no usual top, but run into at once
        ([250, 6_500, 7_000, 7_000, 7_000], 0),  # levels off
        ([250, 7_000, 7_000], 0),  # two alike are chance, at no usual top
        ([250, 17_500, 17_500, 17_500], 0),  # water at the pipe
        ([250, 12_000, 20_000], 0),  # still moves
        ([20_000, 20_000, 15_000], 0),
        ([25_000, 20_000, 20_000], 0),  # it has shown more
        ([300, 500, 500, 500], 0),  # low
    ],
)
def test_readings_alike_high_and_at_once_are_the_gauges_top(shown: list[float], count: int
                                                            ) -> None:
    assert at_top([from_microns(p) for p in shown], WATER) == count


def test_without_a_pipe_temperature_a_level_run_into_is_a_top() -> None:
    assert at_top([from_microns(p) for p in (250, 17_500, 17_500, 17_500)], None) == 3


# from memory: tops that vacuum gauges are made with, in microns
@pytest.mark.parametrize("top", [8_000, 10_000, 12_000, 15_000, 20_000, 25_000, 30_000, 50_000,
                                 100_000, 760_000])
def test_each_usual_top_is_one_and_so_are_the_last_digits_below_it(top: float) -> None:
    for shown, count in ((top, 2), (top - 1, 2), (top - 10, 2), (top - 2, 0), (top + 10, 0)):
        readings = [from_microns(p) for p in (250.0, shown, shown)]
        assert at_top(readings, None) == count


@pytest.mark.parametrize(
    ("before", "level", "count"),
    # a stop is run into from below 0.8 of it
    [(5_590, 7_000, 3), (5_610, 7_000, 0), (250, 4_990, 0), (250, 5_010, 3),
     # water at 20 C is 17,546 microns (IAPWS SR1-86): 0.85 of it 14,914, 1.15 of it 20,178
     (250, 14_900, 3), (250, 14_930, 0), (250, 20_150, 0), (250, 20_190, 3)],
)
def test_a_stop_is_high_far_above_what_came_before_and_not_water(
    before: float, level: float, count: int
) -> None:
    readings = [from_microns(p) for p in (250, before, level, level, level)]
    assert at_top(readings, WATER) == count
