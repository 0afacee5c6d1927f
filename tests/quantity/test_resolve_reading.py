"""Values become SI readings, against published gauge tables, or are refused with the reason."""

import pytest

from fieldvoice.quantity import units
from fieldvoice.quantity.convert import from_si
from fieldvoice.quantity.quantities import quantities
from fieldvoice.quantity.resolve_reading import last_digit_si
from fieldvoice.quantity.site import Site, atmosphere_at
from support.resolving import read, refuse

INCH_OF_30 = 30 * 3386.389  # "30-inch barometer", the reference some documents print

GAUGE_TABLES = [
    # value, unit, reference Pa, expected, in unit, within; source
    # Lennox SPBH4 p. 20 and XC17 p. 18: 23 000 microns = 29.01 inHg; 500 microns = 29.9 inHg
    ("29.01", "inHg-vacuum", 101_325, 23_000, "microns", 200),
    ("29.9", "inHg-vacuum", 101_325, 500, "microns", 60),
    # Carrier 17/19EX manual pp. 134-136, on a 30-inch barometer: 18 inHg = 41 kPa absolute
    ("18", "inHg-vacuum", INCH_OF_30, 41, "kPa", 0.5),
    # Sanyo, Technibel and Panasonic R-410A manuals: -755 mmHg = 5 Torr = 667 Pa
    ("-755", "mmHg", 101_325, 5, "torr", 0.001),
    ("-755", "mmHg", 101_325, 667, "Pa", 0.5),
    # The same 29.82 inHg on a 30.00 and a 29.9213 reference; computed, 1 inHg = 25 400 microns
    ("29.82", "inHg-vacuum", INCH_OF_30, 4572, "microns", 0.5),
    ("29.82", "inHg-vacuum", 101_325, 2572, "microns", 0.5),
]


@pytest.mark.parametrize(("value", "unit", "air", "expected", "shown_in", "within"), GAUGE_TABLES)
def test_vacuum_scales_agree_with_published_tables(value, unit, air, expected, shown_in, within):
    site = Site(atmosphere_pa=air)
    found = read(value, unit, "vacuum", site=site)
    assert from_si(found.si, shown_in, air) == pytest.approx(expected, abs=within)


def test_gauge_pressure_counts_from_the_air_at_the_site():
    denver = Site(atmosphere_pa=83_437.0)
    assert read("0", "psig", "suction-pressure", site=denver).si == pytest.approx(83_437.0)
    psi = read("118", "psi", "suction-pressure")
    assert psi.si == pytest.approx(118 * 6894.757 + 101_325, rel=1e-6)


CLEAR = [
    # value, unit, quantity said, quantity waited for -> quantity, unit
    ("412", "microns", None, None, "vacuum", "microns"),
    ("412", None, None, "vacuum", "vacuum", "microns"),
    ("412", "microns", "vacuum", "suction-pressure", "vacuum", "microns"),
    ("412", "microns", None, "suction-pressure", "vacuum", "microns"),
    ("120", "microns", "vacuum", "blank-off", "blank-off", "microns"),
    ("120", "microns", None, "blank-off", "blank-off", "microns"),
    ("1.2", "torr", None, None, "vacuum", "torr"),
    ("0.6", "mbar", "vacuum", None, "vacuum", "mbar"),
    ("29", "inches", "vacuum", None, "vacuum", "inHg-vacuum"),
    ("29", "inHg", "vacuum", None, "vacuum", "inHg-vacuum"),
    ("-0.1", "MPa", "vacuum", None, "vacuum", "MPa-gauge"),
    ("118", "pounds", "suction-pressure", None, "suction-pressure", "psig"),
    ("118", "psi", None, "suction-pressure", "suction-pressure", "psig"),
    ("118", None, "suction-pressure", None, "suction-pressure", "psig"),
    ("8.1", "bar", "suction-pressure", None, "suction-pressure", "bar-gauge"),
    ("130", "psia", "suction-pressure", None, "suction-pressure", "psia"),
    ("5", "inches", "suction-pressure", None, "suction-pressure", "inHg-vacuum"),
    ("12", "pounds", "charge-added", None, "charge-added", "lb"),
    ("6", "ounces", None, "charge-added", "charge-added", "oz"),
    ("15", "inches", "line-length", None, "line-length", "in"),
    ("54", "degrees", "suction-temperature", None, "suction-temperature", "degF"),
    ("12", "degrees", "superheat", None, "superheat", "delta-degF"),
    ("7", "degC", "subcooling", None, "subcooling", "delta-degC"),
    ("242", "V", None, None, "voltage", "V"),
    ("6", "cfm", None, None, "pump-speed", "cfm"),
    ("4.2", "A", "fan-current", None, "fan-current", "A"),
]


@pytest.mark.parametrize(("value", "unit", "said", "expected", "quantity", "exact"), CLEAR)
def test_unit_and_quantity_settle_each_other(value, unit, said, expected, quantity, exact):
    found = read(value, unit, said, expected)
    assert (found.quantity, found.unit) == (quantity, exact)
    assert found.si_unit == units.SI_UNITS[quantities()[quantity].dimension]


REFUSALS = [
    # value, unit, quantity said, quantity waited for, kind, words in the reason
    ("5", "ft", "suction-pressure", None, "wrong-dimension",
     "Suction pressure cannot be in feet. Say a pressure, such as psig."),
    ("54", "degF", "vacuum", None, "wrong-dimension", "Vacuum cannot be in degrees Fahrenheit."),
    ("118", "psi", "superheat", None, "wrong-dimension", "Superheat cannot be in psi."),
    ("7", "pounds", "vacuum", None, "wrong-dimension", "Vacuum cannot be in pounds."),
    ("7", "psi", "vacuum", None, "wrong-dimension", "Vacuum cannot be in psi."),
    ("7", "pounds", "torque", None, "wrong-dimension", "Say a torque, such as foot pounds."),
    ("7", "ounces", "suction-pressure", None, "wrong-dimension", "cannot be in ounces"),
    ("7", "inches", "suction-temperature", None, "wrong-dimension", "such as degrees Fahrenheit"),
    ("7", "ft", None, "suction-pressure", "wrong-dimension", "cannot be in feet"),
    ("7", None, None, None, "which-quantity", "A number alone."),
    ("54", "degrees", None, None, "which-quantity", "Which temperature?"),
    ("118", "psi", None, None, "which-quantity",
     "Which pressure? Say nitrogen, suction or liquid, then the value."),
    ("3", "pounds", None, None, "which-quantity",
     "Which reading? Say nitrogen pressure, suction pressure or charge added, then the value."),
    ("9", "ft", None, None, "which-quantity", "Which length? Say line set length, then the value."),
    ("40", "%", None, None, "which-quantity", "No reading here is in percent."),
    ("7", "furlongs", "line-length", None, "unknown", "I do not know the unit furlongs."),
    ("7", "ft", "tube-girth", None, "unknown", "I do not know tube girth."),
    ("-5", "microns", "vacuum", None, "impossible", "-5 microns is no vacuum"),
    ("0", "microns", "vacuum", None, "impossible", "0 microns is no vacuum"),
    ("30", "inches", "vacuum", None, "impossible", "Read the micron gauge"),
    ("31", "inHg", "suction-pressure", None, "impossible", "the site's atmospheric pressure"),
    ("-16", "psig", "suction-pressure", None, "impossible", "perfect vacuum or more"),
    ("-500", "degF", "outdoor-temperature", None, "impossible", "below absolute zero"),
    ("-5", "ft", "line-length", None, "impossible", "Line set length cannot be below zero."),
    ("NaN", "microns", "vacuum", None, "impossible", "not a number"),
    ("Infinity", "V", "voltage", None, "impossible", "not a number"),
]


@pytest.mark.parametrize(("value", "unit", "said", "expected", "kind", "reason"), REFUSALS)
def test_what_cannot_be_is_refused_with_the_reason(value, unit, said, expected, kind, reason):
    found = refuse(value, unit, said, expected)
    assert found.kind == kind
    assert reason in found.reason


def test_an_inches_reading_possible_at_sea_level_is_refused_on_a_mountain():
    mountain = Site(atmosphere_pa=atmosphere_at(2500))
    assert read("29", "inHg", "vacuum").si > 0
    assert "22.0" in refuse("29", "inHg", "vacuum", site=mountain).reason


def test_a_perfect_vacuum_within_the_last_digit_is_kept_on_a_gauge_scale():
    assert read("-14.7", "psig", "suction-pressure").si == 0.0


def test_degrees_and_unsaid_units_follow_the_site():
    metric = Site(temperature_unit="degC")
    assert read("12", "degrees", "suction-temperature", site=metric).si == pytest.approx(285.15)
    assert read("12", None, "suction-temperature", site=metric).unit == "degC"
    assert read("6", "degrees", "superheat", site=metric).si == pytest.approx(6)
    assert read("118", None, "suction-pressure", site=metric).unit == "psig"


def test_a_temperature_difference_is_no_temperature():
    # 10 °F of superheat is 5.556 K, not 260.9 K
    assert read("10", "degF", "superheat").si == pytest.approx(50 / 9)
    assert read("10", "degF", "superheat").si_unit == "delta_K"


def test_the_last_digit_said_tells_what_a_dial_can_carry():
    # a tenth of an inch of mercury is 2 540 microns: such a reading cannot pass a 500-micron hold
    dial = last_digit_si(read("29.9", "inHg", "vacuum"))
    assert dial == pytest.approx(2540 * 0.1333224, rel=1e-6)
    assert last_digit_si(read("412", "microns", "vacuum")) == pytest.approx(0.1333224, rel=1e-6)
