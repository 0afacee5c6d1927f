"""A model with a voice in it is the model in all else, whatever it holds."""

from pathlib import Path

import pytest

from fieldvoice.commands.wiring.errors import CommandError
from fieldvoice.commands.wiring.voices.used import laid_out


@pytest.fixture
def base(tmp_path: Path) -> Path:
    base = tmp_path / "model"
    for name in ("am/final.mdl", "graph/words.txt", "conf/model.conf", "fieldvoice.json"):
        (base / name).parent.mkdir(parents=True, exist_ok=True)
        (base / name).write_text(name)
    return base


def test_all_else_is_there_and_the_network_is_another(base: Path, tmp_path: Path) -> None:
    found = laid_out(base, b"mine", tmp_path / "cache" / "dana-1")
    assert (found / "am" / "final.mdl").read_bytes() == b"mine"
    assert (found / "graph" / "words.txt").read_text() == "graph/words.txt"
    assert (found / "fieldvoice.json").exists()


def test_what_a_newer_model_brings_comes_along(base: Path, tmp_path: Path) -> None:
    folder = tmp_path / "cache" / "dana-1"
    laid_out(base, b"mine", folder)
    for name in ("second.npz", "am/more.mdl"):
        (base / name).write_text("new")
    found = laid_out(base, b"mine", folder)
    assert [(found / name).read_text() for name in ("second.npz", "am/more.mdl")] == ["new"] * 2
    assert (found / "am" / "final.mdl").read_bytes() == b"mine"


def test_where_nothing_can_be_written_it_says_so(base: Path, tmp_path: Path) -> None:
    (tmp_path / "cache").write_text("a file in the way")
    with pytest.raises(CommandError, match="cannot lay out the model with the voice"):
        laid_out(base, b"mine", tmp_path / "cache" / "dana-1")
