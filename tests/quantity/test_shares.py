"""How sure something is, in words."""

from __future__ import annotations

import pytest

from fieldvoice.quantity.shares import of_100, percent


@pytest.mark.parametrize(
    ("share", "text"),
    [
        (0.0, "under 1%"), (0.002, "under 1%"), (1e-12, "under 1%"), (0.006, "1%"), (0.93, "93%"),
        (0.994, "99%"), (0.996, "over 99%"), (1.0, "over 99%"),
    ],
)  # fmt: skip
def test_no_belief_is_called_certain(share: float, text: str) -> None:
    assert percent(share) == text


def test_with_a_decimal_it_comes_nearer_and_not_there() -> None:
    assert [percent(share, 1) for share in (0.9996, 0.9993, 0.0004, 0.0006)] == [
        "over 99.9%", "99.9%", "under 0.1%", "0.1%"]


def test_neither_none_nor_all_of_100_are_told() -> None:
    assert [of_100(share) for share in (0.0, 0.004, 0.006, 0.5, 0.994, 0.996, 1.0)] == [
        "fewer than 1 of 100", "fewer than 1 of 100", "1 of 100", "50 of 100", "99 of 100",
        "more than 99 of 100", "more than 99 of 100"]
