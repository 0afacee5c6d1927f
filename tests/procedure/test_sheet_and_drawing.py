"""The readable sheet and the drawing of a procedure leave nothing out."""

from __future__ import annotations

from xml.etree import ElementTree

import pytest

from fieldvoice.procedure.check import load, ways
from fieldvoice.procedure.drawing import drawing
from fieldvoice.procedure.reader import shipped, shipped_names
from fieldvoice.procedure.sheet import WIDTH, filled, sheet
from support.every_sort import TEXT

SVG = "{http://www.w3.org/2000/svg}"


@pytest.mark.parametrize("name", shipped_names())
def test_the_sheet_has_every_limit_caution_step_and_ending(name: str) -> None:
    procedure = load(shipped(name))
    text = sheet(procedure)
    for limit in procedure.limits.values():
        assert limit.source in " ".join(text.split())
    for number, step in enumerate(procedure.steps, 1):
        assert f"\n{number:3}. " in text
        if step.ending:
            assert f"end: {step.ending.name.replace('-', ' ')}" in text
    steps = text[text.index("Cautions"):].splitlines()
    assert all(len(line) <= WIDTH + 20 for line in steps)


def test_the_sheet_says_what_a_step_needs_and_where_it_leads() -> None:
    text = sheet(load(TEXT))
    assert "read outdoor temperature from 35 °F up; else -> 5 warm up" in text
    one_line = " ".join(text.split())
    asks = "asks for vacuum at minute 0, 1, 2, 4, 6, 8"
    assert f"hold 10 min: standing vacuum; {asks}; judged as decay" in one_line
    assert "screen: Longer words for the screen." in text
    assert "why: Water boils away." in text
    assert "wet -> 8 sweep" in text
    assert "again from 8 sweep, 2 times in all" in text
    assert "Pull below 500 microns." in text


@pytest.mark.parametrize("name", shipped_names())
def test_the_drawing_has_a_box_for_each_step_and_a_line_for_each_way(name: str) -> None:
    procedure = load(shipped(name))
    root = ElementTree.fromstring(drawing(procedure))
    boxes = root.findall(f".//{SVG}g[@class='step']")
    assert len(boxes) == len(procedure.steps)
    texts = [t.text for t in root.iter(f"{SVG}text")]
    for step, box in zip(procedure.steps, boxes, strict=True):
        asks = bool(step.choices or step.branches)
        assert (box.find(f"{SVG}polygon") is not None) == asks, step.name  # pointed: a question
        assert (box.find(f"{SVG}rect") is not None) != asks
    assert all(procedure.stages[s.stage].title in texts for s in procedure.steps)
    leads = {(s.name, to) for s in procedure.steps for to in ways(procedure, s)}
    assert len(root.findall(f".//{SVG}path[@marker-end]")) == len(leads)


@pytest.mark.parametrize("name", shipped_names())
def test_each_way_has_its_name_at_its_arrow_and_the_page_is_wide_enough(name: str) -> None:
    procedure = load(shipped(name))
    root = ElementTree.fromstring(drawing(procedure))
    boxes = root.findall(f".//{SVG}g[@class='step']")
    for step, box in zip(procedure.steps, boxes, strict=True):
        told = " ".join(t.text or "" for t in box.iter(f"{SVG}text"))
        for way in step.ways:
            assert way.name.replace("-", " ") in told, (step.name, way.name)
        assert filled(procedure, step.say).split()[-1] in told  # nothing is cut off
    assert float(root.get("width", "0")) <= 900


def test_what_a_procedure_says_cannot_break_the_drawing() -> None:
    text = TEXT.replace('say "Pack up."', "say \"Pack <b>up</b> & go.\"")
    root = ElementTree.fromstring(drawing(load(text)))
    assert any("Pack <b>up</b> & go." in (t.text or "") for t in root.iter(f"{SVG}text"))


def test_the_sheet_says_where_a_choice_leads_that_does_not_apply() -> None:
    procedure = load(shipped("charge-and-start-up"))
    weighed = [s.name for s in procedure.steps].index("weighed") + 1
    assert f"does not apply -> {weighed} weighed" in sheet(procedure)
