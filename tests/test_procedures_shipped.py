"""Every shipped procedure: no fault, speakable options, and every way on walked to an ending."""

from __future__ import annotations

from functools import cache

import pytest
from bench import Bench
from walker import Edge, Walker, edges

from fieldvoice.job import events as e
from fieldvoice.job.procedure import Procedure
from fieldvoice.job.procedure_check import MOST_WORDS, PLACEHOLDER, check, load
from fieldvoice.job.procedure_text import parse, shipped, shipped_names
from fieldvoice.spoken import intents as i
from fieldvoice.spoken.parser import understand


@cache
def _procedure(name: str) -> Procedure:
    return load(shipped(name))


ALL = [
    (name, edge) for name in shipped_names() for edge in edges(_procedure(name))
    if edge[1] != "passed over"  # nothing the technician does
]


@pytest.mark.parametrize("name", shipped_names())
def test_has_no_fault(name: str) -> None:
    assert [str(fault) for fault in check(parse(shipped(name)))] == []


@pytest.mark.parametrize("name", shipped_names())
def test_every_option_can_be_spoken_and_typed(name: str) -> None:
    options = {w.name for s in _procedure(name).steps for w in s.choices + s.exits}
    for option in options - {"yes", "no"}:
        assert understand(option.replace("-", " ")) == i.Choose(option)


@pytest.mark.parametrize("name", shipped_names())
def test_every_step_says_why_and_is_short(name: str) -> None:
    for step in _procedure(name).steps:
        assert step.why, step.name
        assert len(PLACEHOLDER.sub("value", step.say).split()) <= MOST_WORDS


@pytest.mark.parametrize("name", shipped_names())
def test_every_limit_names_its_source(name: str) -> None:
    for limit in _procedure(name).limits.values():
        assert len(limit.source) > 5, limit.name


@pytest.mark.parametrize("name", shipped_names())
def test_no_pressure_step_is_reached_unwarned(name: str) -> None:
    """Common practice: nitrogen is never let in without its caution."""
    for step in _procedure(name).steps:
        if any(n.quantity == "nitrogen-pressure" for n in step.needs):
            assert "nitrogen" in step.cautions, step.name


@pytest.mark.parametrize(("name", "edge"), ALL, ids=[f"{n}:{a}:{w}" for n, (a, w, _) in ALL])
def test_every_way_leads_to_an_ending_and_folds_back(name: str, edge: Edge) -> None:
    walker = Walker(_procedure(name))
    ending = walker.walk(edge)
    step, way, to = edge
    assert ending in {s.ending.name for s in _procedure(name).steps if s.ending}
    assert walker.bench.refolded() == walker.bench.sheet
    if way not in ("done", "end", "repeat") and not way.startswith("outside"):
        taken = [b for b in walker.bench.events(e.BranchTaken) if isinstance(b, e.BranchTaken)]
        assert (step, way, to) in [(b.step, b.option, b.to) for b in taken]
    elif to is not None:
        assert to in walker.visited or _passed_over(walker, to)


def _passed_over(walker: Walker, step: str) -> bool:
    skipped = walker.bench.events(e.StepSkipped)
    return any(isinstance(s, e.StepSkipped) and s.step == step for s in skipped)


@pytest.mark.parametrize("name", shipped_names())
def test_endings_of_the_walks_are_all_endings(name: str) -> None:
    procedure = _procedure(name)
    found = {Walker(procedure).walk(edge) for edge in edges(procedure) if edge[1] == "end"}
    assert found == {s.ending.name for s in procedure.steps if s.ending}


def test_a_site_can_ask_for_a_stricter_document_by_name() -> None:
    bench = Bench(_procedure("evacuate-and-release"), {"criterion": "UFGS-15741N section 3.7.3"})
    # UFGS-15741N 3.7.3: 300 microns, held for 2 hours
    assert (str(bench.sheet.limit("hold-limit")), str(bench.sheet.limit("hold-time"))) == (
        "300 microns", "120 min")
