"""A procedure's limits, and those a site gives, take a unit as it is written anywhere else."""

from __future__ import annotations

import pytest

from fieldvoice.procedure.model import ProcedureError
from fieldvoice.procedure.reader import parse
from support.small_procedure import TEXT

LIMIT = 'limit deep = {} source "common practice"\n'


def limit_of(amount: str) -> tuple[str, str]:
    head, stage, rest = TEXT.partition("stage ")
    found = parse(head + LIMIT.format(amount) + stage + rest).limits["deep"]
    return str(found.value), found.unit


@pytest.mark.parametrize(
    ("written", "unit"),
    [
        ("500 um", "microns"), ("500 µm", "microns"), ("500 mTorr", "microns"), ("29 inHgvac",
         "inHg-vacuum"), ("54 F", "degF"), ("54 °F", "degF"), ("10 barg", "bar-gauge"),
        ("10 bar", "bar"), ("5 minutes", "min"), ("8 m³", "m3"), ("8 m3/h", "m3/h"),
        ("12 N·m", "N-m"), ("10 delta-degF", "delta-degF"), ("7 psi", "psi"),
    ],
)  # fmt: skip
def test_a_limit_keeps_the_name_that_the_table_gives_its_unit(written: str, unit: str) -> None:
    assert limit_of(written) == (written.split()[0], unit)


@pytest.mark.parametrize(
    ("given", "value", "unit"),
    [("300um", "300", "microns"), ("1,250 microns", "1250", "microns"), ("0.4 torr", "0.4", "torr"),
     ("0.5 mbar", "0.5", "mbar"), ("0.05 kPa", "0.05", "kPa")],
)
def test_a_site_gives_a_limit_as_any_amount(given: str, value: str, unit: str) -> None:
    name = next(n for n, v in parse(TEXT).limits.items() if v.unit == "microns")
    found = parse(TEXT).with_site({name: given}).limits[name]
    assert (str(found.value), found.unit) == (value, unit)


@pytest.mark.parametrize(
    ("given", "words"),
    [("300", "without a unit"), ("300 F", "not known as a pressure"), ("4,4 torr", "with a point"),
     ("7 psi", "psig or psia"), ("much", "write a number")],
)
def test_a_site_s_limit_that_is_none_is_refused_with_its_name(given: str, words: str) -> None:
    name = next(n for n, v in parse(TEXT).limits.items() if v.unit == "microns")
    with pytest.raises(ProcedureError, match=words) as refused:
        parse(TEXT).with_site({name: given})
    assert f"the site's {name} is {given!r}" in str(refused.value)
