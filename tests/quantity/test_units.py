"""The table of units: what is shown, said and written is one thing, and its facts are outside's."""

from datetime import timedelta
from decimal import Decimal

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldvoice.language.intents import Reading
from fieldvoice.language.meaning import names_under
from fieldvoice.language.measure import TIME_UNITS
from fieldvoice.language.measure import Unit as SaidUnit
from fieldvoice.language.parser import understand
from fieldvoice.language.speech_text import say as say_aloud
from fieldvoice.quantity import constants
from fieldvoice.quantity.amount import read_amount
from fieldvoice.quantity.convert import to_si
from fieldvoice.quantity.quantities import KINDS, quantities
from fieldvoice.quantity.resolve_unit import resolve_unit
from fieldvoice.quantity.site import STANDARD
from fieldvoice.quantity.units import (
    PER,
    PRESSURE_SCALES,
    SHARED_WORDS,
    SI_UNITS,
    UNITS,
    counted_in,
    say,
    unit_words,
)
from fieldvoice.quantity.written_units import find, fold, scale

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
    assert unit_words(Decimal(1), "ft") == "foot"
    assert unit_words(Decimal(54), "degF") == "degrees Fahrenheit"


ALL = sorted(UNITS)
VALUES = st.decimals(min_value=-99_999, max_value=99_999, places=3)


def test_every_name_that_the_tables_point_at_is_there():
    for found in PRESSURE_SCALES.values():
        assert UNITS[found.gauge].zero in ("gauge", "below")
        assert not found.absolute or UNITS[found.absolute].zero == "true"
    kinds = {name: KINDS[kind] for word in SHARED_WORDS.values() for kind, name in word.items()}
    assert all(name == "site" or UNITS[name].dimension == kinds[name] for name in kinds)
    assert {u.dimension for u in UNITS.values()} | set(PER.values()) == set(SI_UNITS)
    for about in quantities().values():
        assert UNITS[about.table_unit].dimension == about.dimension


@pytest.mark.parametrize("dimension", sorted(SI_UNITS))
def test_a_word_means_one_unit_of_a_dimension(dimension):
    meant: dict[str, str] = {}
    for unit in UNITS.values():
        if unit.dimension == dimension:
            for word in {unit.name, unit.screen, *unit.written}:
                assert meant.setdefault(fold(word), unit.name) == unit.name


@pytest.mark.parametrize("name", ALL)
def test_a_unit_is_found_by_its_name_by_what_is_shown_and_by_what_is_said(name):
    unit = UNITS[name]
    for word in (unit.name, unit.screen, *unit.written):
        assert find(word, unit.dimension) == unit, word
        assert find(f" {word.upper()} ", unit.dimension) == unit, word
    if "degree" not in unit.words or unit.dimension == "temperature":
        assert find(unit.words, unit.dimension) == find(unit.one, unit.dimension) == unit


@given(VALUES, st.sampled_from(ALL))
def test_what_the_screen_shows_can_be_typed_back_as_an_amount(value, name):
    unit = UNITS[name]
    shown = say(value, name)
    zero_unsaid = scale(unit.screen)
    assert zero_unsaid is None or zero_unsaid.absolute == name
    found = read_amount("value", shown, unit.dimension)
    assert (found.value, found.unit) == (value, unit)


@pytest.mark.parametrize(
    ("quantity", "unit"),
    [("vacuum", u) for u in ("microns", "torr", "mmHg", "Pa", "mbar", "inHg-vacuum")]
    + [("suction-pressure", u) for u in UNITS if UNITS[u].zero != "true" or u == "psia"]
    + [("suction-temperature", u) for u in ("degF", "degC")]
    + [("superheat", u) for u in ("delta-degF", "delta-degC")]
    + [("line-length", u) for u in ("ft", "in", "m", "mm")]
    + [("charge-added", u) for u in ("oz", "lb", "g", "kg")]
    + [("torque", u) for u in ("ft-lb", "N-m")]
    + [("system-volume", u) for u in ("L", "mL", "ft3", "in3", "m3")]
    + [("pump-speed", u) for u in ("cfm", "L/s", "m3/h")]
    + [("airflow", u) for u in ("cfm", "L/s", "m3/h")]
    + [("static-pressure", u) for u in ("inH2O", "delta-Pa")]
    + [("compressor-current", "A"), ("voltage", "V")],
)
@pytest.mark.parametrize("value", ["1", "29.5", "412", "1250"])
def test_what_the_screen_shows_can_be_typed_back_as_a_line(quantity, unit, value):
    number = Decimal(value)
    intent = understand(f"{quantities()[quantity].called} {say(number, unit)}", typed=True)
    assert isinstance(intent, Reading), intent
    exact = resolve_unit(intent.value, intent.unit, quantities()[quantity], STANDARD)
    assert (intent.value, exact) == (number, unit)


@pytest.mark.parametrize(
    ("quantity", "unit", "value", "shown", "aloud"),
    [
        ("line set length", "ft-in", "36", "3 ft 0 in", "three feet zero inches"),
        ("line set length", "ft-in", "270", "22 ft 6 in", "twenty two feet six inches"),
        ("line set length", "ft-in", "270.5", "22 ft 6.5 in",
         "twenty two feet six point five inches"),
        ("refrigerant amount", "lb-oz", "114", "7 lb 2 oz", "seven pounds two ounces"),
        ("refrigerant amount", "lb-oz", "100", "6 lb 4 oz", "six pounds four ounces"),
        ("charge added", "lb-oz", "17", "1 lb 1 oz", "one pound one ounce"),
        ("charge added", "lb-oz", "20000", "1,250 lb 0 oz",
         "one thousand two hundred fifty pounds zero ounces"),
    ],
)
def test_what_was_said_in_two_units_is_shown_so_and_can_be_typed_back(
    quantity, unit, value, shown, aloud
):
    assert say(Decimal(value), unit) == shown
    assert say_aloud(shown) == aloud
    intent = understand(f"{quantity} {shown}", typed=True)
    assert isinstance(intent, Reading), intent
    assert (intent.value, intent.unit) == (Decimal(value), unit)
    assert to_si(intent.value, intent.unit) == to_si(Decimal(value), counted_in(unit))


def test_less_than_nothing_in_two_units_keeps_its_sign():
    assert say(Decimal(-20), "lb-oz") == "-1 lb 4 oz"


@pytest.mark.parametrize("name", ALL)
def test_a_unit_shown_is_spoken_in_the_words_of_the_table(name):
    unit = UNITS[name]
    said = {(u.one.lower(), u.words.lower()) for u in UNITS.values() if u.screen == unit.screen}
    one, many = say_aloud(f"1 {unit.screen}"), say_aloud(f"12 {unit.screen}")
    assert (one.removeprefix("one "), many.removeprefix("twelve ")) in said


def test_every_unit_of_the_grammar_is_a_unit_of_the_table():
    for rule in names_under("unit"):
        said = SaidUnit.named(rule)
        assert said in UNITS or said in PRESSURE_SCALES or said in SHARED_WORDS, rule


@pytest.mark.parametrize(
    "name", sorted(u.name for u in UNITS.values() if u.name not in ("h", "min", "s", "d"))
)
def test_a_short_form_that_the_typed_line_takes_means_the_same_there(name):
    unit = UNITS[name]
    for word in unit.written:
        intent = understand(f"412 {word}", typed=True)
        if isinstance(intent, Reading) and intent.unit not in SHARED_WORDS and intent.unit:
            bare = PRESSURE_SCALES.get(intent.unit)
            also = {bare.gauge, bare.absolute} if bare else {intent.unit, f"delta-{intent.unit}"}
            assert name in also, (word, intent)


@pytest.mark.parametrize("token", sorted(TIME_UNITS))
def test_lengths_of_time_in_the_grammar_are_those_of_the_table(token):
    unit = find(token, "time")
    assert unit is not None
    assert TIME_UNITS[token] == timedelta(seconds=to_si(1, unit))


# --- constants for numeric code ----------------------------------------------------------------

CONSTANTS = [  # constant, unit of the table, figure of NIST SP 811 Appendix B.8 to 7 digits
    ("PA_PER_MM_HG", "mmHg", 1.333_224e2), ("PA_PER_MICRON", "microns", 1.333_224e-1),
    ("PA_PER_IN_HG", "inHg", 3.386_389e3), ("PA_PER_PSI", "psia", 6.894_757e3),
    ("PA_PER_BAR", "bar", 1e5), ("M_PER_INCH", "in", 2.54e-2), ("M_PER_FOOT", "ft", 3.048e-1),
    ("KG_PER_OZ", "oz", 2.834_952e-2), ("KG_PER_LB", "lb", 4.535_924e-1),
    ("M3_PER_S_PER_CFM", "cfm", 4.719_474e-4),
]  # fmt: skip


@pytest.mark.parametrize(("name", "unit", "printed"), CONSTANTS)
def test_a_constant_is_that_of_the_table_of_pint_and_of_nist(name, unit, printed):
    ours = getattr(constants, name)
    assert float(f"{ours:.6e}") == printed
    assert ours == pytest.approx(to_si(1, unit), rel=1e-12)
    assert ours == pytest.approx(pint.UnitRegistry()(UNITS[unit].pint).to_base_units().m, rel=1e-12)


def test_the_constants_are_all_among_those_compared():
    plain = {name for name in vars(constants) if name.isupper()}
    assert plain - {name for name, *_ in CONSTANTS} == {"PA_PER_ATM", "KELVIN_AT_0_C"}
    assert constants.PA_PER_ATM == to_si(0, "psig") == 101_325  # SP 811: exact
    assert constants.KELVIN_AT_0_C == to_si(0, "degC") == 273.15


@pytest.mark.parametrize(
    ("fahrenheit", "celsius"), [(32, 0), (212, 100), (-40, -40), (68, 20)]  # defining points
)
def test_the_converters_of_numeric_code_agree_with_the_table(fahrenheit, celsius):
    kelvin = to_si(fahrenheit, "degF")
    assert constants.f_to_c(fahrenheit) == pytest.approx(celsius)
    assert constants.c_to_f(celsius) == pytest.approx(fahrenheit)
    assert constants.f_to_k(fahrenheit) == pytest.approx(kelvin)
    assert constants.k_to_f(kelvin) == pytest.approx(fahrenheit)
    assert constants.psig(to_si(118, "psig")) == pytest.approx(118)
    assert constants.from_psig(118) == pytest.approx(to_si(118, "psig"))
    assert constants.microns(to_si(500, "microns")) == pytest.approx(500)
    assert constants.from_microns(500) == pytest.approx(to_si(500, "microns"))
