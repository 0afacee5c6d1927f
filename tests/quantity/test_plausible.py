"""What is read back before it counts."""

import pytest

from fieldvoice.quantity.plausible import surprising
from fieldvoice.quantity.site import Site, atmosphere_at
from support.resolving import read

SURPRISES = [
    # earlier microns, value, reason
    (["430"], "4120", "far above the last vacuum, 430 microns"),
    (["430"], "380", None),
    (["5000"], "900", None),  # a pump-down
    (["430"], "43", "far below the last vacuum, 430 microns"),
    (["300", "5000"], "900", None),  # only the last one counts
    ([], "412", None),
    ([], "412000", "The usual vacuum is 5 to 30,000 microns."),
    ([], "2", "The usual vacuum is 5 to 30,000 microns."),
]


@pytest.mark.parametrize(("earlier", "value", "reason"), SURPRISES)
def test_a_slipped_digit_is_surprising_and_a_pump_down_is_not(earlier, value, reason):
    before = [read(v, "microns", "vacuum").si for v in earlier]
    found = surprising(read(value, "microns", "vacuum"), before)
    assert found is None if reason is None else reason in found


OTHER_SURPRISES = [
    ("nitrogen-pressure", "psig", "450", "45", True),
    ("nitrogen-pressure", "psig", "150", "300", False),
    ("nitrogen-pressure", "psig", "450", "0", False),  # let down
    ("suction-pressure", "psig", "118", "1180", True),
    ("suction-pressure", "psig", "201", "118", False),  # at rest, then running
    ("suction-temperature", "degF", "54", "154", True),
    ("suction-temperature", "degF", "75", "54", False),
    ("outdoor-temperature", "degF", "85", "58", True),
    ("compressor-current", "A", "11.5", "115", True),
]


@pytest.mark.parametrize(("quantity", "unit", "last", "value", "asked"), OTHER_SURPRISES)
def test_jumps_of_other_quantities_are_judged_by_their_own_rule(quantity, unit, last, value, asked):
    found = surprising(read(value, unit, quantity), [read(last, unit, quantity).si])
    assert (found is not None) == asked


def test_the_reason_is_given_in_the_unit_that_was_said():
    found = surprising(read("9", "torr", "vacuum"), [read("430", "microns", "vacuum").si])
    assert "0.43 torr" in found


COMPOUND_GAUGE = [  # the last vacuum, the next in inches of mercury, what is asked
    (None, "0", None),  # the pump has just been started
    (None, "20", None),
    (("29.5", "inHg-vacuum"), "27", None),
    (("29.9", "inHg-vacuum"), "29.0", None),
    (("20000", "microns"), "25", None),
    (("27", "inHg-vacuum"), "15", "far below the last vacuum, 27 inHg vacuum."),
    (("410", "microns"), "20", "far below the last vacuum, 29.91 inHg vacuum."),
]


@pytest.mark.parametrize(("last", "value", "reason"), COMPOUND_GAUGE)
def test_a_compound_gauge_is_followed_from_the_air_down(last, value, reason):
    before = [] if last is None else [read(*last, "vacuum").si]
    found = surprising(read(value, "inHg-vacuum", "vacuum"), before)
    assert found is None if reason is None else reason in found


@pytest.mark.parametrize(
    ("value", "unit", "quantity", "usual"),
    [
        ("10", "inHg-vacuum", "suction-pressure", "suction pressure is 0 to 350 psig"),
        ("5", "inHg-vacuum", "nitrogen-pressure", "nitrogen pressure is 0 to 650 psig"),
        ("28", "inHg-vacuum", "blank-off", "blank-off vacuum is 29.84 to 29.92 inHg vacuum"),
        ("5", "psig", "vacuum", "vacuum is 5 to 30,000 microns"),
        ("-5", "psig", "suction-pressure", "suction pressure is 0 to 350 psig"),
        ("5000", "kPa-gauge", "suction-pressure", "suction pressure is 0 to 2,413 kPa gauge"),
        ("140", "degF", "outdoor-temperature", "outdoor temperature is -20 to 125 \u00b0F"),
        ("1122", "lb-oz", "refrigerant-amount", "refrigerant amount is 0.5 to 60 lb"),
        ("900", "oz", "charge-added", "charge added is -160 to 480 oz"),
    ],
)
def test_the_usual_range_is_told_on_a_scale_that_can_show_it(value, unit, quantity, usual):
    assert surprising(read(value, unit, quantity)) == f"The usual {usual}."


def test_zero_gauge_pressure_is_plausible_at_any_altitude():
    mountain = Site(atmosphere_pa=atmosphere_at(2500))
    zero = read("0", "psig", "nitrogen-pressure", site=mountain)
    assert surprising(zero, site=mountain) is None
