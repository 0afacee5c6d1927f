"""Target superheat against the whole printed table, and how it is read between its cells."""

from __future__ import annotations

from pathlib import Path

import pytest

from fieldvoice.quantity.constants import f_to_k
from fieldvoice.trade.charge.target_superheat import TargetSuperheat, target_superheat
from fieldvoice.trade.errors import TradeError

# Lennox 14ACX manual p. 26, as printed: outdoor dry bulb, then a figure for each wet bulb
PRINTED = """
wet bulb: 50 52 54 56 58 60 62 64 66 68 70 72 74 76
      55:  9 12 14 17 20 23 27 30 33 36 38 40 42 44
      65:  -  6 10 13 16 19 21 24 27 30 33 36 38 41
      75:  -  -  -  6  9 12 15 18 21 24 28 31 34 37
      85:  -  -  -  -  -  -  8 11 15 19 22 26 30 33
      95:  -  -  -  -  -  -  -  6 10 14 18 22 25 29
     105:  -  -  -  -  -  -  -  -  5  9 13 17 22 26
     115:  -  -  -  -  -  -  -  -  -  -  8 14 18 24
"""
ROWS = [line.partition(":") for line in PRINTED.strip().splitlines()]
WET = [int(w) for w in ROWS[0][2].split()]
CELLS = [(int(outdoor), wet, cell) for outdoor, _, cells in ROWS[1:]
         for wet, cell in zip(WET, cells.split(), strict=True)]
FIGURES = [(outdoor, wet, int(cell)) for outdoor, wet, cell in CELLS if cell != "-"]
DASHES = [(outdoor, wet) for outdoor, wet, cell in CELLS if cell == "-"]


def at(outdoor_f: float, wet_f: float) -> TargetSuperheat:
    return target_superheat(f_to_k(wet_f), f_to_k(outdoor_f))


@pytest.mark.parametrize(("outdoor", "wet", "target"), FIGURES)
def test_the_printed_table_is_given_back(outdoor: float, wet: float, target: float) -> None:
    assert at(outdoor, wet).target_f == pytest.approx(target)


@pytest.mark.parametrize(("outdoor", "wet"), DASHES)
def test_a_dash_in_the_table_is_a_refusal(outdoor: float, wet: float) -> None:
    lowest = min(w for o, w, _ in FIGURES if o == outdoor)
    with pytest.raises(TradeError, match=f"a dash .*permitted wet bulb there is {lowest} to 76 F"):
        at(outdoor, wet)


def test_the_printed_table_keeps_to_the_rule_of_thumb() -> None:
    # (3 WB - 80 - DB) / 2 against this table and a like one of another maker: mean error 1.2 F,
    # worst 7.5 F (115 F outdoors, 76 F wet bulb)
    off = [abs(at(o, w).target_f - at(o, w).formula_f) for o, w, _ in FIGURES]
    assert sum(off) / len(off) == pytest.approx(1.2, abs=0.1)
    assert max(off) == pytest.approx(7.5)


@pytest.mark.parametrize(
    ("outdoor", "wet", "target"),
    # worked out by hand from the printed figures
    [(95, 71, 20.0),  # between 18 and 22
     (90, 70, 20.0),  # between 22 and 18
     (90, 71, 22.0),  # the middle of 22, 26, 18 and 22
     (77, 64.5, 17.4),  # 0.8 x (18 + 0.25 x 3) + 0.2 x (11 + 0.25 x 4)
     (90, 63, 7.0),  # half way from 8 (85 F, 62 F) to 6 (95 F, 64 F), beside a dash
     (89, 63, 7.5),  # 8 + 0.5 x 3 - 0.4 x 5, in the triangle of 8, 11 and 6
     (87, 63.5, 9.25),  # 8 + 0.75 x 3 - 0.2 x 5
     (56, 51.9, 11.25),  # 9 + 0.95 x 3 - 0.1 x 6, in the triangle of 9, 12 and 6
     (110, 69, 8.5)],  # half way from 9 (105 F, 68 F) to 8 (115 F, 70 F)
)
def test_between_cells_it_interpolates(outdoor: float, wet: float, target: float) -> None:
    assert at(outdoor, wet).target_f == pytest.approx(target)


@pytest.mark.parametrize(
    ("outdoor", "wet", "lowest"),
    # beyond the line between the outermost printed cells: nothing is made up there
    [(90, 62.8, 63), (91, 63, 64), (95, 63, 64), (87, 62.3, 63), (80, 60.5, 61), (110, 68.5, 69),
     (60, 50.5, 51), (84.9, 61.9, 62), (76, 57, 61)],
)
def test_beyond_the_printed_cells_nothing_is_made_up(
    outdoor: float, wet: float, lowest: int
) -> None:
    with pytest.raises(TradeError, match=f"at {wet:.1f} F .* there is {lowest} to 76 F"):
        at(outdoor, wet)
    assert at(outdoor, lowest).target_f >= 5.0


def test_no_target_lies_below_the_floor() -> None:
    # Lennox 14ACX manual p. 26: never below 5 F
    found = []
    for half in range(110, 231):
        for wet in range(100, 153):
            try:
                found.append(at(half / 2, wet / 2).target_f)
            except TradeError:
                continue
    assert len(found) > 3000
    assert min(found) == pytest.approx(5.0)


def test_the_rule_of_thumb_stands_beside_it() -> None:
    # (3 x 66 - 80 - 95) / 2 = 11.5, where the chart prints 10
    found = at(95, 66)
    assert found.formula_f == pytest.approx(11.5)
    assert found.target_f == pytest.approx(10.0)
    assert "common practice" in found.formula_source
    assert (found.wet_bulb_f, found.outdoor_f) == pytest.approx((66, 95))


@pytest.mark.parametrize(
    ("outdoor", "wet"),
    [(54.9, 66), (115.1, 66), (95, 76.1), (55, 49.9), (50, 66), (120, 66), (95, 40), (95, 80)],
)
def test_outside_the_chart_is_a_refusal(outdoor: float, wet: float) -> None:
    with pytest.raises(TradeError, match="permitted range"):
        at(outdoor, wet)


def test_the_readme_names_what_the_code_uses() -> None:
    readme = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")
    row = next(r for r in readme.splitlines() if r.startswith("| Target superheat of a fixed"))
    assert "printed table" in row
    assert "between its cells" in row
    assert "never below 5 °F" in row
