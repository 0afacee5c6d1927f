"""Figures of a verdict as they are said, on both sides of where their digits change."""

from __future__ import annotations

import pytest

from fieldvoice.quantity.constants import from_microns
from fieldvoice.trade.vacuum import decay_figures as figures
from fieldvoice.trade.vacuum.decay_types import VacuumReading


@pytest.mark.parametrize(
    ("microns", "minute", "said"),
    [(99.4, 2.0, "Read 99.4 microns at minute 2"), (75.5, 0.5, "Read 75.5 microns at minute 0.5"),
     (60.0, 10.0, "Read 60 microns at minute 10"), (100.4, 2.5, "Read 100 microns at minute 2.5"),
     (150.6, 21.44, "Read 151 microns at minute 21.4"),
     (17_546.2, 3.0, "Read 17546 microns at minute 3")],
)
def test_a_reading_is_said_to_the_digit(microns: float, minute: float, said: str) -> None:
    assert figures.read_at(VacuumReading(minute, from_microns(microns))) == said


@pytest.mark.parametrize(
    ("microns", "bare", "said"),
    [(9.94, False, "9.9 microns"), (7.5, True, "7.5"), (10.4, False, "10 microns"),
     (15.6, True, "16"), (500.0, True, "500"), (12_344.0, False, "12340 microns")],
)
def test_a_fitted_pressure_has_four_figures_or_a_tenth(microns: float, bare: bool, said: str
                                                       ) -> None:
    assert figures.um(from_microns(microns), bare=bare) == said


@pytest.mark.parametrize(
    ("minutes", "said"),
    [(1.0, "1 minute"), (1.04, "1 minute"), (1.5, "1.5 minutes"), (2.0, "2 minutes"),
     (0.5, "0.5 minutes"), (10.0, "10 minutes")],
)
def test_one_minute_is_no_minutes(minutes: float, said: str) -> None:
    assert figures.in_minutes(minutes) == said


def test_masses_and_temperatures_in_both_units() -> None:
    # 28.349523 g an ounce; F = 1.8 C + 32
    assert figures.mass(1.0) == "35 oz (1000 g)"
    assert figures.mass(0.000_567) == "0.02 oz (0.57 g)"
    assert figures.warmth(-40.0) == "-40 °F (-40 °C)"
    assert figures.warmth(35.2) == "95 °F (35 °C)"
