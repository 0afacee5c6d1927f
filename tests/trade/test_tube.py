"""Copper tube of the ACR sizes, and the volume of a line set, against ASTM B280."""

from __future__ import annotations

import pytest

from fieldvoice.quantity.constants import M_PER_FOOT, M_PER_INCH
from fieldvoice.trade.charge.tube import line_set_volume, sizes, tube
from fieldvoice.trade.errors import TradeError

# ASTM B280, annealed: nominal, inside diameter in inches, cubic inches a foot
ANNEALED = [("1/4", 0.190, 0.340), ("5/16", 0.248, None), ("3/8", 0.311, 0.912),
            ("1/2", 0.436, 1.792), ("5/8", 0.555, 2.903), ("3/4", 0.680, 4.358),
            ("7/8", 0.785, 5.808), ("1-1/8", 1.025, 9.902)]
MILLILITRES_PER_FOOT = [("1/4", 5.58), ("5/16", 9.54), ("3/8", 14.94), ("1/2", 29.36),
                        ("5/8", 47.57), ("3/4", 71.4), ("7/8", 95.2), ("1-1/8", 162.3)]
DRAWN = [("3/8", 0.315), ("1/2", 0.430), ("5/8", 0.545)]


@pytest.mark.parametrize(("size", "inches", "per_foot"), ANNEALED)
def test_bores_of_annealed_tube(size: str, inches: float, per_foot: float | None) -> None:
    # 5/16 in: 0.2485 in exactly; the table rounds it down
    assert tube(size).bore_m / M_PER_INCH == pytest.approx(inches, abs=0.0006)
    if per_foot is not None:
        volume = tube(size).volume_m3_per_m * M_PER_FOOT / M_PER_INCH**3
        assert volume == pytest.approx(per_foot, abs=0.002)


@pytest.mark.parametrize(("size", "millilitres"), MILLILITRES_PER_FOOT)
def test_volume_of_a_foot(size: str, millilitres: float) -> None:
    assert tube(size).volume_m3_per_m * M_PER_FOOT * 1e6 == pytest.approx(millilitres, rel=2e-3)


@pytest.mark.parametrize(("size", "inches"), DRAWN)
def test_bores_of_drawn_tube(size: str, inches: float) -> None:
    assert tube(size, drawn=True).bore_m / M_PER_INCH == pytest.approx(inches, abs=1e-6)


def test_the_sizes_known_are_those_of_the_tables() -> None:
    assert sizes() == tuple(size for size, *_ in ANNEALED)
    assert sizes(drawn=True) == tuple(size for size, _ in DRAWN)


@pytest.mark.parametrize("text", ["3/8", "3/8in", '3/8"', " 3/8 in "])
def test_a_size_is_known_however_it_is_written(text: str) -> None:
    assert tube(text).nominal == "3/8"
    assert tube("1 1/8").nominal == "1-1/8"


@pytest.mark.parametrize(
    ("size", "drawn", "message"),
    [("9/16", False, r"\(annealed\): use 1/4, 5/16"),
     ("1/4", True, r"\(drawn\): use 3/8, 1/2, 5/8")],
)
def test_a_size_that_is_not_made_is_refused(size: str, drawn: bool, message: str) -> None:
    with pytest.raises(TradeError, match=message):
        tube(size, drawn)


def test_volume_of_a_line_set_and_what_it_was_summed_from() -> None:
    # 25 ft of 3/8 and 3/4 in: 2.16 L; with 3/8 and 7/8 in 2.75 L
    length = 25 * M_PER_FOOT
    found = line_set_volume({"3/8": length, "3/4": length})
    assert found.volume_m3 * 1e3 == pytest.approx(2.16, abs=0.005)
    assert line_set_volume({"3/8": length, "7/8": length}).volume_m3 * 1e3 == pytest.approx(
        2.75, abs=0.005)
    both = line_set_volume({"3/8": length}, {"coil": 0.0015})
    assert both.volume_m3 * 1e3 == pytest.approx(14.94e-3 * 25 + 1.5, abs=0.001)
    assert [name for name, _ in both.parts_m3] == ["3/8 tube", "coil"]
    assert both.to_dict()["lengths_m"] == (("3/8", length),)
    assert line_set_volume({}, {"coil": 0.0015}).volume_m3 == 0.0015


@pytest.mark.parametrize(
    ("lengths", "others", "message"),
    [({}, {}, "empty"), ({"3/8": 0.0}, {}, "3/8 length"), ({"3/8": -1.0}, {}, "3/8 length"),
     ({"3/8": 1.0}, {"coil": 0.0}, "volume of coil")],
)
def test_a_volume_of_nothing_is_refused(
    lengths: dict[str, float], others: dict[str, float], message: str
) -> None:
    with pytest.raises(TradeError, match=message):
        line_set_volume(lengths, others)
