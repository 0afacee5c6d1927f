"""The table of quantities: whole, and refused with the place when it is broken."""


import pytest

from fieldvoice.language.intents import Reading
from fieldvoice.language.parser import understand
from fieldvoice.quantity import units
from fieldvoice.quantity.errors import ReadingError
from fieldvoice.quantity.plausible import surprising
from fieldvoice.quantity.quantities import quantities, read_quantities, speakable
from support.resolving import read


@pytest.mark.parametrize("name", sorted(quantities()))
def test_every_quantity_has_a_name_a_default_unit_and_a_range_that_resolves(name):
    about = quantities()[name]
    middle = read(str(round((about.low + about.high) / 2, 3)), None, name)
    assert surprising(middle) is None
    assert speakable(name) == about.called
    assert "-" not in speakable(name).replace("blank-off", "")
    for unit in about.only:
        assert units.UNITS[unit].dimension == about.dimension


@pytest.mark.parametrize("name", sorted(quantities()))
def test_the_example_of_a_quantity_fits_it_and_is_understood_as_its_number(name):
    about = quantities()[name]
    assert about.low <= about.example.value <= about.high
    said = understand(f"{about.called} {about.example.said.replace('-', ' ')}", typed=False)
    assert isinstance(said, Reading), said
    assert (said.value, said.quantity) == (about.example.value, name)
    assert surprising(read(str(about.example.value), None, name)) is None


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("[a]\nkind = 'heat'\nrange = [0, 1]", "kind is 'heat'"),
        ("[a]\nkind = 'mass'\nrange = [1, 1]", "give .lowest, highest."),
        ("[a]\nkind = 'mass'\nrange = [0, 1]\nrize = 3", "unknown field 'rize'"),
        ("[a]\nkind = 'mass'\nrange = [0, 1]", "called"),
        ("[a]\nkind = 'mass'\nrange = [0, 1]\nexample = 'ten'", "example is 'ten'"),
        ("[a", "quantities:"),
    ],
)
def test_a_broken_quantity_table_names_the_place(text, words):
    with pytest.raises(ReadingError, match=words):
        read_quantities(text)
