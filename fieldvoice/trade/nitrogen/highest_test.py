"""The highest pressure that systems of a refrigerant are tested to in the field."""

from __future__ import annotations

from dataclasses import dataclass

from fieldvoice.quantity.constants import PA_PER_ATM
from fieldvoice.trade.errors import TradeError
from fieldvoice.trade.refrigerant.refrigerants import refrigerant
from fieldvoice.trade.refrigerant.saturation import bubble_pressure_pa

# Published field tests: R-410A 4.15 MPa (Sanyo, Technibel), R-32 4.15 MPa (Toshiba RAV-GP561ATW-E
# p. 17); 602 psig. No document read asks for more.
PUBLISHED_GAUGE_PA = {"R-410A": 4.15e6, "R-32": 4.15e6}
# Of the others no field test was found. At this temperature R-410A boils at 4.18 MPa gauge, within
# a hundredth of its published test, so theirs is taken to follow it too.
HOTTEST_K = 338.15  # 65 C


@dataclass(frozen=True)
class HighestTest:
    """A pressure with what it is known from."""

    gauge_pa: float
    refrigerant: str | None  # None: of any
    published: bool


def highest_test(name: str | None) -> HighestTest:
    """The highest field test of a refrigerant's systems; the highest published where not known."""
    highest = max(PUBLISHED_GAUGE_PA.values())
    if name is None:
        return HighestTest(highest, None, True)
    try:
        known = refrigerant(name).name
        if known in PUBLISHED_GAUGE_PA:
            return HighestTest(PUBLISHED_GAUGE_PA[known], known, True)
        return HighestTest(bubble_pressure_pa(known, HOTTEST_K) - PA_PER_ATM, known, False)
    except TradeError:
        return HighestTest(highest, None, True)
