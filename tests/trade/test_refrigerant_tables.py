"""The maker of the refrigerants' table: what it fills, what it refuses, what a failure leaves."""

from __future__ import annotations

from importlib import resources
from pathlib import Path

import numpy as np
import pytest

from fieldvoice.trade.errors import TradeError
from fieldvoice.trade.refrigerant import saturation
from fieldvoice.trade.refrigerant.refrigerants import Fluid, fluids, read_refrigerants
from fieldvoice.trade.studies import refrigerant_tables

GRID = np.arange(280.0, 342.0)


def test_a_failure_leaves_the_table_as_it_was(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    kept = tmp_path / "refrigerants.csv"
    kept.write_text("as it was")
    known = read_refrigerants("[R-1]\ncoolprop = 'R32'\nmolar_kg = 0.05\nsafety_class = 'A1'\n"
                              "lowest_k = 210\nhighest_k = 400\n")
    monkeypatch.setattr(refrigerant_tables, "fluids", lambda: known)
    with pytest.raises(TradeError, match="R32 has no saturation at 352 K: narrow its range"):
        refrigerant_tables.main(kept)
    assert kept.read_text() == "as it was"


@pytest.mark.parametrize("fluid", [Fluid("R999", None), Fluid("R999.mix", 350.0)])
def test_a_name_that_coolprop_does_not_know_is_said_to_be_that(fluid: Fluid) -> None:
    with pytest.raises(TradeError, match=r"'R999(\.mix)?' from 280 to 341 K .*correct its name"):
        refrigerant_tables.curve(fluid, GRID, "P", 1)


def test_a_mixture_is_not_continued_beyond_what_coolprop_computes(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def fails_above(fluid: str, kelvin: float, output: str, quality: int) -> float:
        return float("nan") if kelvin > 335 else float(np.exp(20 - 2500 / kelvin))

    monkeypatch.setattr(refrigerant_tables, "_value", fails_above)
    with pytest.raises(TradeError, match="no saturation at 336 K: narrow its range"):
        refrigerant_tables.curve(Fluid("X.mix", 360.0), GRID, "P", 1)


@pytest.mark.parametrize("failing", [{283.0}, set(np.arange(300.0, 340.0, 3.0))])
def test_gaps_that_no_fit_can_fill_are_refused(
    monkeypatch: pytest.MonkeyPatch, failing: set[float]
) -> None:
    def fails_there(fluid: str, kelvin: float, output: str, quality: int) -> float:
        return float("nan") if kelvin in failing else float(np.exp(20 - 2500 / kelvin))

    monkeypatch.setattr(refrigerant_tables, "_value", fails_there)
    with pytest.raises(TradeError, match="too few to fill the rest: narrow its range"):
        refrigerant_tables.curve(Fluid("X.mix", 360.0), GRID, "P", 1)


def test_gaps_and_outliers_are_filled_with_the_curve(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    # a curve known exactly (ln p straight in 1/T), one point missing and one wrong by 1 %
    def truth(kelvin: float) -> float:
        return float(np.exp(20 - 2500 / kelvin))

    def spoiled(fluid: str, kelvin: float, output: str, quality: int) -> float:
        return {310.0: float("nan"), 320.0: truth(320.0) * 1.01}.get(kelvin, truth(kelvin))

    monkeypatch.setattr(refrigerant_tables, "_value", spoiled)
    found = refrigerant_tables.curve(Fluid("X.mix", 360.0), GRID, "P", 1)
    assert found == pytest.approx([truth(k) for k in GRID], rel=1e-9)
    assert "X.mix P quality 1: filled at 310, 320 K" in capsys.readouterr().err


@pytest.mark.parametrize("name", ["R-32", "R-449A"])  # a pure fluid, a mixture with gaps
def test_the_shipped_table_is_what_the_maker_writes(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str
) -> None:
    library = pytest.importorskip("CoolProp")
    shipped = (resources.files("fieldvoice.trade.refrigerant") / "refrigerants.csv").read_text()
    head, columns, *rows = shipped.splitlines()
    if f"# CoolProp {library.__version__} " not in head:
        pytest.skip("the table was made with another version of CoolProp")
    monkeypatch.setattr(refrigerant_tables, "fluids", lambda: {name: fluids()[name]})
    refrigerant_tables.main(tmp_path / "made.csv")
    made = (tmp_path / "made.csv").read_text().splitlines()
    assert made[:2] == [head, columns]
    for here, there in zip(made[2:], (r for r in rows if r.startswith(name + ",")), strict=True):
        assert list(map(float, here.split(",")[1:])) == pytest.approx(
            list(map(float, there.split(",")[1:])), rel=1e-5)


def test_an_answer_names_the_library_that_its_table_was_made_with() -> None:
    assert saturation.source().startswith("CoolProp ")
    assert "CoolProp 8" not in Path(saturation.__file__).read_text()
