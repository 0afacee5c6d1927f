"""Tables for people: as wide as there is room, and never cut."""

import re
from pathlib import Path

import pytest

from by_hand.shop_of_jobs import write_shop
from fieldvoice.__main__ import main
from fieldvoice.commands.rim.table import table_lines

NAMES = ["stage", "lower quartile minutes", "jobs"]
ROWS = [["evacuation", "12.3", "7"], ["start-up", "19.4", "1"]]


def laid(width: int | None) -> list[str]:
    return list(table_lines(NAMES, ROWS, [False, True, True], width))


def test_with_room_it_is_a_table_with_numbers_to_the_right() -> None:
    assert laid(None) == laid(80) == [
        "  stage       lower quartile minutes  jobs",
        "  evacuation                    12.3     7",
        "  start-up                      19.4     1"]


def test_headings_are_wrapped_before_rows_are() -> None:
    assert laid(32) == [
        "                 lower",
        "              quartile",
        "  stage        minutes  jobs",
        "  evacuation      12.3     7",
        "  start-up        19.4     1"]


def test_what_does_not_fit_becomes_a_paragraph_of_its_own() -> None:
    assert laid(26) == [
        "  evacuation", "    lower quartile minutes", "      12.3, jobs 7",
        "  start-up", "    lower quartile minutes", "      19.4, jobs 1"]


@pytest.mark.parametrize("columns", [40, 80, 120])
def test_no_figure_of_a_shop_is_wider_than_the_terminal(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str],
    columns: int,
) -> None:
    write_shop(tmp_path / "jobs", 4, 150)
    assert main(["shop", str(tmp_path / "jobs"), "--figure", "jobs"]) == 0
    free = capsys.readouterr().out
    monkeypatch.setenv("COLUMNS", str(columns))
    assert main(["shop", str(tmp_path / "jobs")]) == 0
    told = capsys.readouterr().out
    assert max(len(line) for line in told.splitlines() if line.startswith(" ")) <= columns
    words = set(re.findall(r"[\w:-]+", free))
    assert words - set(re.findall(r"[\w:-]+", told)) <= {"job"}  # the name at its paragraph's head


def test_a_drawing_is_written_whole_and_follows_no_link(tmp_path: Path) -> None:
    write_shop(tmp_path / "jobs", 2, 150)
    kept = tmp_path / "kept.txt"
    kept.write_text("mine", encoding="utf-8")
    drawing = tmp_path / "march.svg"
    drawing.symlink_to(kept)
    figure = ["shop", str(tmp_path / "jobs"), "--figure", "vacuum", "--plot"]
    assert main([*figure, str(drawing)]) == 0
    assert kept.read_text("utf-8") == "mine"
    assert drawing.read_text("utf-8").endswith("</svg>")
    assert main([*figure, str(tmp_path / "none" / "march.svg")]) == 2
    assert {path.name for path in tmp_path.iterdir()} == {"jobs", "kept.txt", "march.svg"}
