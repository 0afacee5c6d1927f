"""Values become SI readings, against published factors and gauge tables, or are refused."""

import subprocess
import sys
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldvoice.quantity import readings, units
from fieldvoice.quantity.readings import (
    ReadingError,
    Refused,
    Resolved,
    Site,
    atmosphere_at,
    from_si,
    in_unit,
    last_digit_si,
    quantities,
    resolve,
    say,
    site_from,
    speakable,
    surprising,
    to_si,
)


def read(value, unit=None, quantity=None, expected=None, site=readings.STANDARD):
    found = resolve(Decimal(value), unit, quantity, expected=expected, site=site)
    assert isinstance(found, Resolved), found
    return found


def refuse(value, unit=None, quantity=None, expected=None, site=readings.STANDARD):
    found = resolve(Decimal(value), unit, quantity, expected=expected, site=site)
    assert isinstance(found, Refused), found
    return found


# NIST Special Publication 811 (2008), Appendix B.8, as printed: 7 significant digits.
SP_811 = [
    ("psia", 6.894757e3), ("inHg", 3.386389e3), ("mmHg", 1.333224e2), ("torr", 1.333224e2),
    ("microns", 1.333224e-1), ("bar", 1.0e5), ("mbar", 1.0e2), ("kPa", 1.0e3), ("MPa", 1.0e6),
    ("cfm", 4.719474e-4), ("ft", 3.048e-1), ("in", 2.54e-2), ("oz", 2.834952e-2),
    ("lb", 4.535924e-1), ("ft-lb", 1.355818), ("ft3", 2.831685e-2), ("in3", 1.638706e-5),
    ("delta-degF", 5.555556e-1), ("h", 3.6e3), ("m3/h", 2.777778e-4),
]  # fmt: skip


@pytest.mark.parametrize(("unit", "factor"), SP_811)
def test_factors_are_those_of_nist_sp_811(unit, factor):
    assert to_si(1, unit)[0] == pytest.approx(factor, rel=5e-7)


@pytest.mark.parametrize(
    ("value", "unit", "kelvin"),
    [(32, "degF", 273.15), (212, "degF", 373.15), (-40, "degC", 233.15), (-40, "degF", 233.15)],
)
def test_temperatures_follow_the_definition_of_both_scales(value, unit, kelvin):
    # NIST SP 811 B.8: T/K = (t/°F + 459.67)/1.8
    assert to_si(value, unit)[0] == pytest.approx(kelvin, abs=1e-9)


def test_one_inch_of_mercury_is_25_400_microns():
    assert to_si(1, "inHg")[0] == pytest.approx(to_si(25_400, "microns")[0], rel=1e-12)


def test_the_standard_atmosphere_is_760_torr_and_29_9213_inches():
    # NIST SP 811 B.8: 101 325 Pa exactly; the torr is 1/760 of it
    assert from_si(101_325.0, "torr") == pytest.approx(760, rel=1e-12)
    assert from_si(101_325.0, "inHg") == pytest.approx(29.92126, abs=5e-6)
    assert from_si(101_325.0, "psia") == pytest.approx(14.69595, abs=5e-6)


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
    assert from_si(found.si, shown_in, site) == pytest.approx(expected, abs=within)


def test_gauge_pressure_counts_from_the_air_at_the_site():
    denver = Site(atmosphere_pa=83_437.0)
    assert read("0", "psig", "suction-pressure", site=denver).si == pytest.approx(83_437.0)
    psi = read("118", "psi", "suction-pressure")
    assert psi.si == pytest.approx(118 * 6894.757 + 101_325, rel=1e-6)


# U.S. Standard Atmosphere 1976 as tabled in ASHRAE Fundamentals 2017 ch. 1 Table 1 (from memory)
@pytest.mark.parametrize(
    ("altitude_m", "pressure_pa"),
    [
        (-500, 107_478), (0, 101_325), (500, 95_461),
        (1000, 89_875), (4000, 61_640), (10_000, 26_436),
    ],
)
def test_pressure_falls_with_altitude_as_in_the_standard_atmosphere(altitude_m, pressure_pa):
    assert atmosphere_at(altitude_m) == pytest.approx(pressure_pa, abs=3)


def test_altitude_formula_agrees_with_the_ashrae_equation_of_a_reference_library():
    psychrolib = pytest.importorskip("psychrolib")  # ASHRAE Fundamentals 2017 ch. 1 eqn. 3
    psychrolib.SetUnitSystem(psychrolib.SI)
    for altitude_m in (0, 250, 1609.344, 3000, 5000):
        expected = psychrolib.GetStandardAtmPressure(altitude_m)
        assert atmosphere_at(altitude_m) == pytest.approx(expected, rel=2e-5)


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
    metric = Site(temperature_unit="degC", default_units={"suction-pressure": "bar-gauge"})
    assert read("12", "degrees", "suction-temperature", site=metric).si == pytest.approx(285.15)
    assert read("12", None, "suction-temperature", site=metric).unit == "degC"
    assert read("6", "degrees", "superheat", site=metric).si == pytest.approx(6)
    assert read("8.1", None, "suction-pressure", site=metric).unit == "bar-gauge"


def test_a_temperature_difference_is_no_temperature():
    # 10 °F of superheat is 5.556 K, not 260.9 K
    assert read("10", "degF", "superheat").si == pytest.approx(50 / 9)
    assert read("10", "degF", "superheat").si_unit == "delta_K"


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


def test_zero_gauge_pressure_is_plausible_at_any_altitude():
    mountain = Site(atmosphere_pa=atmosphere_at(2500))
    zero = read("0", "psig", "nitrogen-pressure", site=mountain)
    assert surprising(zero, site=mountain) is None


@pytest.mark.parametrize("name", sorted(quantities()))
def test_every_quantity_has_a_name_a_default_unit_and_a_range_that_resolves(name):
    about = quantities()[name]
    middle = read(str(round((about.low + about.high) / 2, 3)), None, name)
    assert surprising(middle) is None
    assert about.resolution > 0
    assert speakable(name) == about.called
    assert "-" not in speakable(name).replace("blank-off", "")
    for unit in about.only:
        assert units.UNITS[unit].dimension == about.dimension


@given(
    st.sampled_from(sorted(units.UNITS)),
    st.floats(-1e6, 1e6, allow_subnormal=False),
    st.floats(60_000, 105_000),
)
def test_every_unit_comes_back_from_si_as_it_went_in(unit, value, air):
    site = Site(atmosphere_pa=air)
    si, _ = to_si(value, unit, site)
    back = from_si(si, unit, site)
    one = abs(to_si(1.0, unit, site)[0] - to_si(0.0, unit, site)[0])
    assert back == pytest.approx(value, rel=1e-9, abs=1e-9 * max(1.0, air / one))


TEXTS = [
    (Decimal("412"), "microns", "412 microns"), (Decimal("4120"), "microns", "4,120 microns"),
    (Decimal("1"), "microns", "1 micron"), (Decimal("54.50"), "degF", "54.50 °F"),
    (Decimal("29.9"), "inHg-vacuum", "29.9 inHg vacuum"), (Decimal("40"), "%", "40%"),
    (Decimal("1E+3"), "psig", "1,000 psig"), (66.66119, "Pa", "66.66 Pa"), (0.0, "psig", "0 psig"),
    (Decimal("10"), "delta-degF", "10 °F"), (Decimal("1"), "ft", "1 ft"),
    (1234567.0, "Pa", "1,235,000 Pa"),
]  # fmt: skip


@pytest.mark.parametrize(("value", "unit", "text"), TEXTS)
def test_screen_text_is_what_the_trade_writes(value, unit, text):
    assert say(value, unit) == text


def test_units_are_spoken_in_words():
    assert readings.unit_words(Decimal(1), "ft") == "foot"
    assert readings.unit_words(Decimal(54), "degF") == "degrees Fahrenheit"


def test_a_reading_shown_in_another_unit_keeps_its_si_value():
    found = in_unit(read("500", "microns", "vacuum"), "mbar")
    assert found.value == Decimal("0.6666")  # 0.66661 mbar, by NIST SP 811 factors
    assert found.si == read("500", "microns", "vacuum").si
    with pytest.raises(ReadingError, match="vacuum cannot be in ft"):
        in_unit(found, "ft")


def test_the_last_digit_said_tells_what_a_dial_can_carry():
    # a tenth of an inch of mercury is 2 540 microns: such a reading cannot pass a 500-micron hold
    dial = last_digit_si(read("29.9", "inHg", "vacuum"))
    assert dial == pytest.approx(2540 * 0.1333224, rel=1e-6)
    assert last_digit_si(read("412", "microns", "vacuum")) == pytest.approx(0.1333224, rel=1e-6)


SITES = [
    ({}, 101_325.0), ({"atmosphere": "29.92 inHg"}, 101_320.7),
    ({"atmosphere": "1013 mbar"}, 101_300.0),
    ({"altitude": "5,280 ft"}, 83_428.0), ({"altitude": "1609.344 m", "customer": "x"}, 83_428.0),
]  # fmt: skip


@pytest.mark.parametrize(("told", "air"), SITES)
def test_the_site_is_read_from_plain_text(told, air):
    assert site_from(told).atmosphere_pa == pytest.approx(air, abs=1)


@pytest.mark.parametrize(
    ("told", "words"),
    [
        ({"atmosphere": "29.92"}, "site, atmosphere"),
        ({"atmosphere": "0 psig"}, "absolute pressure"),
        ({"atmosphere": "nan Pa"}, "not a finite number"),
        ({"atmosphere": "29.92 Pa"}, "between 15,000 and 110,000 Pa"),
        ({"altitude": "high"}, "site, altitude"),
        ({"altitude": "90000 ft"}, "altitude of 27432 m"),
        ({"temperature-unit": "K"}, "give degF or degC"),
    ],
)
def test_a_site_that_cannot_be_is_refused(told, words):
    with pytest.raises(ReadingError, match=words):
        site_from(told)


@pytest.mark.parametrize(
    ("unit", "words"),
    [("psi", "psig or psia"), ("pounds", "more than one unit"), ("um", "unknown unit 'um'")],
)
def test_conversion_refuses_units_that_say_too_little(unit, words):
    with pytest.raises(ReadingError, match=words):
        to_si(1.0, unit)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("[a]\nkind = 'heat'\nrange = [0, 1]", "kind is 'heat'"),
        ("[a]\nkind = 'mass'\nrange = [1, 1]", "give .lowest, highest."),
        ("[a]\nkind = 'mass'\nrange = [0, 1]\nrize = 3", "unknown field 'rize'"),
        ("[a]\nkind = 'mass'\nrange = [0, 1]", "called"),
        ("[a", "quantities:"),
    ],
)
def test_a_broken_quantity_table_names_the_place(text, words):
    from fieldvoice.quantity.quantities import read_quantities

    with pytest.raises(ReadingError, match=words):
        read_quantities(text)


def test_importing_readings_leaves_the_unit_library_for_later():
    code = "import sys, fieldvoice.quantity.readings; sys.exit('pint' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
