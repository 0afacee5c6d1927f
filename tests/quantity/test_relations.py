"""The table of relations between readings."""

from __future__ import annotations

import pytest

from fieldvoice.procedure.check import load
from fieldvoice.procedure.reader import shipped, shipped_names
from fieldvoice.quantity.errors import ReadingError
from fieldvoice.quantity.relations import read_relations, relations

ROW = '[wet]\nlower = "indoor-wet-bulb"\nhigher = "return-air"\nbecause = "It is so."\n'


def test_a_row_that_a_technician_adds_is_read() -> None:
    (row,) = read_relations(ROW + 'slack = "2 F"\nfresh = "1 h"\nstages = ["air"]\n')
    assert (row.lower.quantity, row.higher and row.higher.quantity) == (
        "indoor-wet-bulb", "return-air")
    assert row.slack_si == pytest.approx(2 / 1.8)
    assert (row.fresh_s, row.stages) == (3600.0, ("air",))


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ("[a", "relations: "),
        ('[a]\nlower = "vacuum"\nbecause = "x"', r"\[a\]: give lower and higher, or reading"),
        (ROW.replace("return-air", "return"), "unknown quantity 'return'"),
        (ROW.replace("return-air", "vacuum"), "a temperature is not compared with a pressure"),
        (ROW.replace("return-air", "dew of return-air"), "'dew of return-air' is not worked out"),
        (ROW + 'slak = "2 F"', "unknown field among slak"),
        (ROW + 'slack = "2 psi"', "slack is '2 psi'"),
        (ROW + 'after = "vacuum"', "after names a quantity, and goes with after_at_most"),
        (ROW.replace('because = "It is so."', ""), "because is missing"),
        ('[a]\nreading = "suction-pressure"\nat_most = "20 F"\nbecause = "x"', "is not known as"),
    ],
)
def test_a_slip_in_a_row_is_told_with_its_place(text: str, fault: str) -> None:
    with pytest.raises(ReadingError, match=fault):
        read_relations(text)


def test_the_stages_and_steps_that_the_table_names_are_there() -> None:
    procedures = [load(shipped(name)) for name in shipped_names()]
    stages = {name for p in procedures for name in p.stages}
    steps = {name for p in procedures for name in p.by_name}
    assert {name for row in relations() for name in row.stages} <= stages
    assert {name for row in relations() for name in row.until} <= steps
