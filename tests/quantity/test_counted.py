"""One of a thing stands without an s, in whatever it is told."""

import pytest

from fieldvoice.commands.calculators.calculation import um
from fieldvoice.quantity.constants import from_microns
from fieldvoice.quantity.counted import counted
from fieldvoice.trade.nitrogen.tightness_test import Holding, _action
from fieldvoice.trade.vacuum import decay_figures, gauge_step
from fieldvoice.trade.vacuum.evacuation import freezing


@pytest.mark.parametrize(("number", "told"), [
    (1, "1 line"), (0, "0 lines"), (2, "2 lines"), ("1", "1 line"), ("1.0", "1.0 lines"),
    ("-1", "-1 line"), ("21", "21 lines"), (12_345, "12,345 lines"),
])  # fmt: skip
def test_one_is_told_of_one(number: int | str, told: str) -> None:
    assert counted(number, "line") == told


def test_a_word_may_have_another_form_for_several() -> None:
    assert [counted(n, "line is", "lines are") for n in (1, 2)] == ["1 line is", "2 lines are"]


def test_one_micron_and_one_minute_are_told_so() -> None:
    one = from_microns(1.0)
    told = [um(one), decay_figures.in_minutes(1.0), _action(Holding.NOT_YET_CLEAR, 1.0),
            gauge_step.unfit_for_hold(one, from_microns(3.0)) or "",
            freezing(one, ambient_k=300.0).reason]
    assert not [text for text in told if "1 microns" in text or "1 minutes" in text]
    assert all("1 micron" in text or "1 minute" in text for text in told)
