"""The data file of refrigerants: whole, in step with the table made from it, or refused."""

from __future__ import annotations

import csv
from importlib import resources
from pathlib import Path

import numpy as np
import pytest

from fieldvoice.trade.errors import TradeError
from fieldvoice.trade.refrigerant import refrigerants, saturation

ROW = "[R-1]\ncoolprop = 'X'\nmolar_kg = 0.1\nsafety_class = 'A1'\n" \
    "lowest_k = 210\nhighest_k = 340\n"


@pytest.mark.parametrize("name", refrigerants.names())
def test_the_table_covers_the_range_that_the_data_file_gives(name: str) -> None:
    about = refrigerants.refrigerant(name)
    text = (resources.files("fieldvoice.trade.refrigerant") / "refrigerants.csv").read_text("utf-8")
    kelvin = [float(row["k"]) for row in csv.DictReader(text.splitlines()[1:])
              if row["refrigerant"] == name]
    assert (kelvin[0], kelvin[-1], len(kelvin)) == (
        about.low_k, about.high_k, round(about.high_k - about.low_k) + 1)
    assert saturation.dew_pressure_pa(name, 280.0) > 0


@pytest.mark.parametrize("name", refrigerants.names())
def test_the_table_ends_below_the_critical_point_of_an_outside_library(name: str) -> None:
    library = pytest.importorskip("CoolProp.CoolProp")
    about, fluid = refrigerants.fluids()[name]
    critical = fluid.critical_k or library.PropsSI("Tcrit", fluid.coolprop)
    assert about.high_k < critical - 3


@pytest.mark.parametrize(
    ("name", "grams"),
    # molar masses of ASHRAE 34, from memory
    [("R-410A", 72.6), ("R-32", 52.0), ("R-454B", 62.6), ("R-22", 86.5), ("R-134a", 102.0),
     ("R-407C", 86.2), ("R-404A", 97.6), ("R-448A", 86.3), ("R-449A", 87.2), ("R-513A", 108.4),
     ("R-1234yf", 114.0), ("R-290", 44.1), ("R-600a", 58.1)],
)
def test_molar_masses_are_those_of_the_standard_and_of_the_vapour(name: str, grams: float) -> None:
    found = refrigerants.refrigerant(name)
    assert found.molar_kg * 1e3 == pytest.approx(grams, abs=0.06)
    # the gas law: the thinnest vapour of the table is 0 to 4 % denser than it says
    density, pressure = (of(name, found.low_k) for of in
                         (saturation.vapour_density, saturation.dew_pressure_pa))
    assert 1.0 <= density * 8.314_462_6 * found.low_k / pressure / found.molar_kg <= 1.04


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (ROW.replace("lowest_k = 210\n", ""), r"\[R-1\]: lowest_k is missing"),
        (ROW.replace("0.1", "100"), r"\[R-1\]: molar_kg is 100: give kilograms a mole"),
        (ROW + "glide = 3", "unknown field 'glide'"),
        (ROW.replace("'A1'", "'A4'"), "safety_class is 'A4'"),
        (ROW.replace("'A1'", "'A3'"), "flammable_kg_m3 goes with"),
        (ROW + "flammable_kg_m3 = 0.3", "flammable_kg_m3 goes with"),
        (ROW.replace("'X'", "'X.mix'"), "critical_k goes with a mixture"),
        (ROW + "critical_k = 350.0", "critical_k goes with a mixture"),
        (ROW.replace("340", "200"), "is not below highest_k 200"),
        (ROW.replace("340", "210"), "lowest_k 210 is not below highest_k 210"),
        (ROW.replace("210", "0"), "lowest_k 0 is not below"),
        (ROW.replace("'A1'", "'C1'"), "safety_class is 'C1'"),
        ("[R-1", "refrigerants:"),
    ],
)
def test_a_broken_data_file_names_the_place(text: str, words: str) -> None:
    with pytest.raises(TradeError, match=words):
        refrigerants.read_refrigerants(text)


@pytest.mark.parametrize(
    ("safety", "words"),
    [("A2L", "mildly flammable"), ("A2", "class A2, flammable"), ("A3", "highly flammable"),
     ("B1", "class B1: wear gloves")],
)
def test_the_caution_follows_the_class(safety: str, words: str) -> None:
    limit = "" if safety.endswith("1") else "flammable_kg_m3 = 0.1\n"
    found = refrigerants.read_refrigerants(ROW.replace("A1", safety) + limit)
    assert words in found["R-1"][0].caution


@pytest.mark.parametrize("name", refrigerants.names())
def test_the_readme_names_every_refrigerant(name: str) -> None:
    readme = (Path(__file__).parents[2] / "README.md").read_text("utf-8")
    row = next(line for line in readme.splitlines() if line.startswith("| Saturation"))
    assert name in row


@pytest.mark.parametrize("name", refrigerants.names())
def test_no_cell_of_the_shipped_table_stands_off_its_neighbours(name: str) -> None:
    # ln of each column against temperature is a smooth curve: its third difference is tiny, less so
    # near the critical point, so a cell that is off by two parts in a thousand sticks out
    shipped = (resources.files("fieldvoice.trade.refrigerant") / "refrigerants.csv").read_text()
    cells = np.array([row.split(",")[2:] for row in shipped.splitlines()
                      if row.startswith(name + ",")], dtype=float)
    bends = np.abs(np.diff(np.log(cells), 3, axis=0))
    assert bends[:-20].max() < 3e-4
    assert bends.max() < 2e-3
    assert (np.diff(cells, axis=0) * [1, 1, -1, 1] > 0).all()
