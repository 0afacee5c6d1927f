"""What is said or typed becomes the reading that was meant: parser and units agree on names."""

from decimal import Decimal

import pytest

from fieldvoice.language.intents import Reading
from fieldvoice.language.parser import understand
from fieldvoice.quantity.plausible import surprising
from fieldvoice.quantity.quantities import quantities, speakable
from fieldvoice.quantity.resolve_reading import Resolved, resolve
from fieldvoice.quantity.resolve_unit import Refused
from fieldvoice.quantity.site import Site

LINES = [
    # line, typed, quantity waited for -> quantity, value, unit
    ("four hundred twelve microns", False, None, "vacuum", "412", "microns"),
    ("four twelve", False, "vacuum", "vacuum", "412", "microns"),
    ("412 um", True, None, "vacuum", "412", "microns"),
    ("1.2 torr", True, "vacuum", "vacuum", "1.2", "torr"),
    ("29.9 inHg", True, "vacuum", "vacuum", "29.9", "inHg-vacuum"),
    ("-5 psig", True, "suction-pressure", "suction-pressure", "-5", "psig"),
    ("blank off sixty two", False, None, "blank-off", "62", "microns"),
    ("sixty two microns", False, "blank-off", "blank-off", "62", "microns"),
    ("suction one eighteen", False, None, "suction-pressure", "118", "psig"),
    ("suction pressure one eighteen pounds", False, None, "suction-pressure", "118", "psig"),
    ("suction pressure 8.1 bar", True, None, "suction-pressure", "8.1", "bar-gauge"),
    ("nitrogen three hundred", False, None, "nitrogen-pressure", "300", "psig"),
    ("suction line temperature fifty four degrees", False, None,
     "suction-temperature", "54", "degF"),
    ("outdoor temperature 30 degC", True, None, "outdoor-temperature", "30", "degC"),
    ("line length twenty five feet", False, None, "line-length", "25", "ft"),
    ("charge added six ounces", False, None, "charge-added", "6", "oz"),
    ("compressor current eleven point five amps", False, None, "compressor-current", "11.5", "A"),
    ("two hundred forty two volts", False, None, "voltage", "242", "V"),
    ("superheat twelve degrees", False, None, "superheat", "12", "delta-degF"),
    ("torque eighteen foot pounds", False, None, "torque", "18", "ft-lb"),
    ("pump speed six c f m", False, None, "pump-speed", "6", "cfm"),
    ("design pressure four fifty", False, None, "design-pressure", "450", "psig"),
    ("refrigerant charge six pounds", False, None, "refrigerant-amount", "6", "lb"),
    ("two thirty volts", False, "plate-voltage", "plate-voltage", "230", "V"),
    ("compressor current fourteen", False, "rated-load-current", "rated-load-current", "14", "A"),
    ("rated load current fourteen", False, "plate-voltage", "rated-load-current", "14", "A"),
    ("fan current one point four", False, "plate-fan-current", "plate-fan-current", "1.4", "A"),
    ("subcooling fourteen", False, "target-subcooling", "target-subcooling", "14", "delta-degF"),
    ("target subcooling fourteen", False, "liquid-pressure",
     "target-subcooling", "14", "delta-degF"),
    ("static pressure point five inches", False, None, "static-pressure", "0.5", "inH2O"),
    ("point five inches", False, "static-pressure", "static-pressure", "0.5", "inH2O"),
    ("one twenty pascals", False, "static-pressure", "static-pressure", "120", "delta-Pa"),
    ("twelve hundred c f m", False, "airflow", "airflow", "1200", "cfm"),
    ("six c f m", False, None, "pump-speed", "6", "cfm"),
    ("delta t is nineteen", False, None, "temperature-split", "19", "delta-degF"),
    ("fan speed is eleven hundred", False, None, "fan-speed", "1100", "rpm"),
    ("825 rpm", True, None, "fan-speed", "825", "rpm"),
    ("1.5e3 microns", True, None, "vacuum", "1500", "microns"),
    ("LLT 95", True, None, "liquid-temperature", "95", "degF"),
    ("low side's reading one nineteen", False, None, "suction-pressure", "119", "psig"),
    ("four hundred fifty pounds of nitrogen", False, None, "nitrogen-pressure", "450", "psig"),
    ("i put in eight ounces", False, None, "charge-added", "8", "oz"),
]


@pytest.mark.parametrize(("line", "typed", "expected", "quantity", "value", "unit"), LINES)
def test_a_line_becomes_the_reading_that_was_meant(line, typed, expected, quantity, value, unit):
    intent = understand(line, typed=typed)
    assert isinstance(intent, Reading), intent
    found = resolve(intent.value, intent.unit, intent.quantity, expected=expected, site=Site())
    assert isinstance(found, Resolved), found
    assert (found.quantity, found.value, found.unit) == (quantity, Decimal(value), unit)


@pytest.mark.parametrize("name", sorted(quantities()))
def test_every_quantity_is_understood_by_the_name_replies_give_it(name):
    about = quantities()[name]
    value = round((about.low + about.high) / 2)
    intent = understand(f"{speakable(name)} {value}", typed=True)
    assert isinstance(intent, Reading), intent
    found = resolve(intent.value, intent.unit, intent.quantity, site=Site())
    assert isinstance(found, Resolved), found
    assert found.quantity == name
    assert surprising(found) is None


@pytest.mark.parametrize(
    "unit", ["psi", "pounds", "degrees", "feet", "inches", "amps", "ounces"]
)
def test_a_question_back_can_be_answered_as_it_says(unit):
    value = "twenty"
    asked = resolve(Decimal(20), understand(f"{value} {unit}").unit, None, site=Site())
    assert isinstance(asked, Refused)
    names = asked.reason.partition("Say ")[2].removesuffix(", then the value.")
    for name in names.replace(" or ", ", ").split(", "):
        intent = understand(f"{name} {value} {unit}", typed=False)
        assert isinstance(intent, Reading), name
        found = resolve(intent.value, intent.unit, intent.quantity, site=Site())
        assert isinstance(found, Resolved), (name, found)


@pytest.mark.parametrize(
    ("line", "expected", "words"),
    [
        ("suction pressure five feet", None, "Suction pressure cannot be in feet"),
        ("fifty four degrees", None, "Which temperature?"),
        ("seven pounds", "vacuum", "Vacuum cannot be in pounds"),
        ("line length minus five feet", None, "cannot be below zero"),
    ],
)
def test_a_line_that_cannot_be_is_refused_with_the_reason(line, expected, words):
    intent = understand(line, typed=False)
    assert isinstance(intent, Reading), intent
    found = resolve(intent.value, intent.unit, intent.quantity, expected=expected, site=Site())
    assert isinstance(found, Refused)
    assert words in found.reason
