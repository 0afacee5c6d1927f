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
