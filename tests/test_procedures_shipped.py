"""Every shipped procedure: no fault, speakable options, and every way on walked to an ending."""

from __future__ import annotations

from functools import cache

import pytest
from bench import Bench
from walker import Edge, Walker, edges

from fieldvoice.job import events as e
from fieldvoice.job.procedure import Procedure, ProcedureError
from fieldvoice.job.procedure_check import MOST_WORDS, PLACEHOLDER, check, load
from fieldvoice.job.procedure_text import parse, shipped, shipped_names
from fieldvoice.spoken import intents as i
from fieldvoice.spoken.parser import understand
from fieldvoice.trade.nitrogen import staged_pressures
from fieldvoice.trade.units import PA_PER_PSI


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
    assert len(_procedure(name).intro.split()) <= MOST_WORDS
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


def test_the_stages_of_the_nitrogen_test_are_those_of_the_arithmetic() -> None:
    """Trane 5TTR5018 section 8.1: 150 psig and bubbles first, then the design pressure."""
    bench = Bench(_procedure("nitrogen-test"))
    design = bench.sheet.limit("test-high")
    stages = staged_pressures(float(design.value) * PA_PER_PSI)
    limits = [bench.sheet.limit(name) for name in ("first-high", "test-high")]
    assert [round(s.gauge_pa / PA_PER_PSI) for s in stages] == [int(v.value) for v in limits]


def _asked_for_the_plate() -> Bench:
    bench = Bench(_procedure("nitrogen-test"))
    for name in ("power-off", "valves-shut", "gauge-off", "plate", "rig"):
        assert bench.sheet.step == name
        bench.say(i.Understood())
        bench.say(i.Next())
    bench.read(120, "psig")
    bench.say(i.StartHold())
    bench.wait(minutes=5)
    bench.say(i.Choose("no-bubbles"))
    return bench


def test_a_lower_plate_keeps_the_test_pressure_down() -> None:
    bench = _asked_for_the_plate()
    bench.say(i.No())
    assert "above 150 psig" in bench.read(200, "psig")
    assert bench.sheet.step == "raise-low"
    bench.read(140, "psig")
    assert bench.sheet.step == "let-settle"


def test_a_plate_that_nobody_read_counts_as_a_low_one() -> None:
    bench = _asked_for_the_plate()
    bench.say(i.Skip("plate not legible"))
    bench.say(i.Yes())
    assert bench.sheet.step == "raise-low"


def test_a_site_whose_limits_leave_nothing_between_is_refused() -> None:
    with pytest.raises(ProcedureError, match="nothing lies between 150 psig and 140 psig"):
        Bench(_procedure("nitrogen-test"), {"test-high": "140 psig"})


def test_after_the_last_sweep_the_pump_is_started_before_a_vacuum_is_read() -> None:
    procedure = _procedure("evacuate-and-release")
    assert procedure.destination(procedure.step("sweep-out"), None) == "start-pump"


def test_a_site_can_ask_for_a_stricter_document_by_name() -> None:
    bench = Bench(_procedure("evacuate-and-release"), {"criterion": "UFGS-15741N section 3.7.3"})
    # UFGS-15741N 3.7.3: 300 microns, held for 2 hours
    assert (str(bench.sheet.limit("hold-limit")), str(bench.sheet.limit("hold-time"))) == (
        "300 microns", "120 min")
