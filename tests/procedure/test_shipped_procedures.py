"""Every shipped procedure: no fault, speakable options, and every way on walked to an ending."""

from __future__ import annotations

import re
from decimal import Decimal
from functools import cache

import pytest

from fieldvoice.dialogue.facts import passing
from fieldvoice.jobstate import events as e
from fieldvoice.language import intents as i
from fieldvoice.language.parser import understand
from fieldvoice.procedure.check import MOST_WORDS, check, load
from fieldvoice.procedure.model import Procedure
from fieldvoice.procedure.prompt_words import spoken_words
from fieldvoice.procedure.reader import parse, shipped, shipped_names
from fieldvoice.procedure.settings import ProcedureError
from fieldvoice.quantity.constants import PA_PER_PSI
from fieldvoice.trade.nitrogen.tightness_test import staged_pressures
from support.bench import Bench
from support.walker import Edge, Walker, edges


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
    procedure = _procedure(name)
    assert spoken_words(procedure, procedure.intro) <= MOST_WORDS
    for step in procedure.steps:
        assert step.why, step.name
        assert spoken_words(procedure, step.say) <= MOST_WORDS, step.say


# What hands do, as the prompts say it; "say" and "tell me" are for the voice.
DEEDS = re.compile(
    r"(add|air|blank|bleed|blow|braze|bring|bubble|call|cap|change|charge|check|clamp|clear|close|"
    r"connect|crack|cut|cycle|do|drive|evacuate|find|fit|fix|insulate|keep|lead|leave|listen|lock|"
    r"look|make|mark|open|press|prove|pull|pump|purge|put|raise|recover|repair|run|search|send|"
    r"show|shut|snug|start|stop|sweep|switch|tag|take|torque|turn|warm|watch|weigh|wipe|wrap|write)"
)


@pytest.mark.parametrize("name", shipped_names())
def test_a_prompt_asks_for_one_action(name: str) -> None:
    for step in _procedure(name).steps:
        told = re.sub(r"[^.?]*\?", "", step.say)  # a question may name what to choose from
        begun = [part.split()[0].lower() for part in re.split(r"[.,:]|\band\b|\bthen\b", told)
                 if part.split()]
        assert len([word for word in begun if DEEDS.fullmatch(word)]) <= 1, step.say


def test_cautions_of_one_name_are_the_same_words_everywhere() -> None:
    texts: dict[str, set[str]] = {}
    for name in shipped_names():
        for caution in _procedure(name).cautions.values():
            texts.setdefault(caution.name, set()).add(caution.text)
    assert {name: told for name, told in texts.items() if len(told) > 1} == {}


@pytest.mark.parametrize("name", shipped_names())
def test_timers_that_run_beside_the_steps_can_be_asked_for_by_voice(name: str) -> None:
    for step in _procedure(name).steps:
        if step.timer:
            asked = understand(f"how long left on the {step.timer.title}")
            assert asked == i.HowLongLeft(step.timer.title)


# Public documents may be named; a maker's guide is named beside its limit in the file instead.
PUBLIC = re.compile(r"CFR|UFGS|UL 60335|NFPA|OSHA|California Energy Commission")
# a model number of a maker, such as 5TTR5018 or RAV-GP561ATW-E
MODEL = re.compile(r"\b(?=[A-Z0-9-]*[A-Z])(?=[A-Z0-9-]*\d)[A-Z0-9-]{6,}\b")


@pytest.mark.parametrize("name", shipped_names())
def test_every_limit_names_its_source(name: str) -> None:
    for limit in _procedure(name).limits.values():
        known = "common practice" in limit.source or "published installation guide" in limit.source
        assert known or PUBLIC.search(limit.source), limit.name


@pytest.mark.parametrize("name", shipped_names())
def test_no_source_that_a_customer_reads_names_a_model_or_a_memory(name: str) -> None:
    procedure = _procedure(name)
    set_by = [s for c in procedure.criteria.values() for s in c.settings]
    for limit in [*procedure.limits.values(), *set_by]:
        models = MODEL.findall(re.sub(r"UFGS[ -]\w+", "", limit.source))  # its numbers look alike
        assert models == [], limit.name
        assert "memory" not in limit.source, limit.name


@pytest.mark.parametrize("name", shipped_names())
def test_no_pressure_step_is_reached_unwarned(name: str) -> None:
    """Common practice: nitrogen is never let in without its caution."""
    for step in _procedure(name).steps:
        if any(n.quantity == "nitrogen-pressure" and n.low for n in step.needs):
            assert "nitrogen" in step.cautions, step.name  # one without a lower limit proves zero


@pytest.mark.parametrize(("name", "edge"), ALL, ids=[f"{n}:{a}:{w}" for n, (a, w, _) in ALL])
def test_every_way_leads_to_an_ending_and_folds_back(name: str, edge: Edge) -> None:
    walker = Walker(_procedure(name))
    ending = walker.walk(edge)
    step, way, to = edge
    assert ending in {s.ending.name for s in _procedure(name).steps if s.ending}
    assert walker.bench.refolded() == walker.bench.state
    if way not in ("done", "end", "repeat") and not way.startswith("outside"):
        taken = [b for b in walker.bench.events(e.BranchTaken) if isinstance(b, e.BranchTaken)]
        assert (step, way, to) in [(b.step, b.option, b.to) for b in taken]
    elif to is not None:
        assert to in walker.visited or _passed_over(walker, to)
    for tones in _bursts(walker):
        assert tones.count("alert") <= 1  # timers that end together speak as one
        assert "alert" not in tones[tones.index("caution"):] if "caution" in tones else True


def _bursts(walker: Walker) -> list[list[str]]:
    """The tones of what was said in one go."""
    found: list[list[str]] = [[]]
    for entry in walker.bench.log:
        if isinstance(entry.event, e.Said):
            found[-1].append(entry.event.tone)
        elif found[-1]:
            found.append([])
    return found


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
    bench = _at_the_plate()
    bench.read(450, "psig")
    stages = staged_pressures(450 * PA_PER_PSI)
    limits = [bench.state.limit(name) for name in ("first-high", "half-high", "full-high")]
    assert [round(s.gauge_pa / PA_PER_PSI) for s in stages] == [int(v.value) for v in limits]
    assert [int(v.value) for v in limits] == [150, 225, 450]


def _at_the_plate(name: str = "nitrogen-test", **site: str) -> Bench:
    bench = Bench(_procedure(name), site)
    while bench.state.step != "plate":
        assert len(bench.log) < 400, bench.state.step
        _step_on(bench)
    return bench


def _step_on(bench: Bench) -> None:
    """Do what the open step of a nitrogen test waits for."""
    while bench.state.unacknowledged():
        bench.say(i.Understood())
    step, need = bench.state.open_step, bench.state.unmet()
    assert step is not None
    if need is not None:
        bench.read(6, "lb", need.quantity)
    elif step.hold is not None:
        bench.say(i.StartHold())
        bench.wait(minutes=10)
    elif passing.wanted(bench.state) is not None:
        bench.say(i.Skip("not to be read"))
    elif step.choices:
        bench.say(i.Choose(step.choices[-1 if step.name == "refrigerant-class" else 0].name))
    else:
        bench.say(i.Next())


def _to_the_first_stage(bench: Bench) -> None:
    while bench.state.step != "first-raise":
        _step_on(bench)
    while bench.state.unacknowledged():
        bench.say(i.Understood())


def test_the_pressures_of_the_test_follow_the_plate() -> None:
    bench = _at_the_plate()
    bench.read(300, "psig")
    _to_the_first_stage(bench)
    assert bench.state.step == "first-raise"
    assert bench.text.endswith("Open slowly to 150 psig, then tell me.")
    bench.read(150, "psig")
    for _ in range(2):
        _step_on(bench)
    assert bench.state.step == "raise"  # 150 is half of 300: no stage in between
    assert "Raise to 300 psig, then tell me." in bench.text
    assert bench.read(310, "psig").startswith("Over the plate. Let it down now. 310 psig,")
    bench.read(295, "psig")
    assert bench.state.step == "let-settle"


def test_a_plate_that_nobody_read_counts_as_a_low_one() -> None:
    bench = _at_the_plate()
    bench.say(i.Skip("plate not legible"))
    bench.say(i.Yes())
    _to_the_first_stage(bench)
    assert "Open slowly to 100 psig" in bench.text
    assert "above 100 psig" in bench.read(120, "psig")
    assert str(bench.state.limit("full-high")) == "150 psig"


def test_a_plate_outside_what_can_be_is_asked_for_again() -> None:
    bench = _at_the_plate()
    bench.read(45, "psig", "design-pressure")
    bench.say(i.Yes())  # it is surprising, too
    assert bench.state.step == "plate"
    assert str(bench.state.limit("full-high")) == "150 psig"


def test_a_corrected_plate_moves_the_stages_with_it() -> None:
    bench = _at_the_plate()
    bench.read(450, "psig")
    bench.say(i.ChangeReading("design-pressure", Decimal(400), "psig"))
    assert str(bench.state.limit("full-high")) == "400 psig"
    assert bench.refolded() == bench.state


def test_a_limit_that_follows_the_plate_is_not_given_by_the_site() -> None:
    with pytest.raises(ProcedureError, match="follows the design pressure"):
        Bench(_procedure("nitrogen-test"), {"full-high": "375 psig"})


def test_a_site_whose_limits_leave_nothing_between_is_refused() -> None:
    with pytest.raises(ProcedureError, match="nothing lies between 12 psig and 10 psig"):
        Bench(_procedure("evacuate-and-release"), {"sweep-low": "12 psig"})


@pytest.mark.parametrize(
    ("refrigerant", "burns", "amount", "asked"),
    [
        # UL 60335-2-40, from memory: 6 m3 times the limit of A2L go in any room; ASHRAE 34 gives
        # R-32 0.307 kg/m3 (from memory): 1.842 kg, 4.06 lb
        ("R-32", "mildly-flammable", 4.0, False), ("R-32", "mildly-flammable", 4.1, True),
        # IEC 60335-2-40, from memory: 4 m3 of A3; propane 0.038 kg/m3 (from memory): 0.152 kg
        ("", "highly-flammable", 0.3, False), ("", "highly-flammable", 0.35, True),
        ("R-32", "highly-flammable", 0.35, True), ("", "", 0.35, True),
    ],
)
def test_the_room_counts_from_a_charge_that_follows_the_class(
    refrigerant: str, burns: str, amount: float, asked: bool
) -> None:
    bench = Bench(_procedure("make-safe"), {"refrigerant": refrigerant} if refrigerant else {})
    while bench.state.step != "refrigerant-amount":
        bench.say(i.Understood())
        bench.say(i.Next())
    bench.read(amount, "lb")
    if bench.state.question:
        bench.say(i.Yes())
    if passing.wanted(bench.state) is not None:
        bench.say(i.Skip("not to be read"))
    bench.say(i.Choose(burns) if burns else i.Skip("no plate"))
    if bench.state.question:  # R-32 does not burn as an A3 does
        bench.say(i.Yes())
    opened = []
    while not bench.state.finished:
        assert len(bench.log) < 400, bench.state.step
        opened.append(bench.state.step)
        bench.say(i.Understood())
        bench.say(i.Next())
    assert ("room-size" in opened) is asked
    assert {"no-flame", "air", "detector"} <= set(opened)


def test_the_fire_watch_runs_beside_the_nitrogen_test_and_speaks_with_its_hold_as_one() -> None:
    bench = Bench(_procedure("commission-split-system"))
    while bench.state.step != "joint-kind":
        _step_on(bench)
    bench.say(i.Choose("brazed"))
    while bench.state.step != "plate":
        _step_on(bench)
    assert "fire watch" in bench.state.timers
    bench.read(300, "psig")
    _to_the_first_stage(bench)
    bench.read(150, "psig")
    bench.wait(minutes=55)
    bench.say(i.StartHold())
    bench.wait(minutes=5)
    assert bench.tones == ["alert", "prompt"]
    assert bench.replies[0].text == "Fire watch finished: 1 hour. Hold finished: 5 minutes."


def test_after_the_last_sweep_the_pump_is_started_before_a_vacuum_is_read() -> None:
    procedure = _procedure("evacuate-and-release")
    assert procedure.destination(procedure.step("sweep-out"), None) == "start-pump"


# Trade claims that no source bears out, or that tell of Fahrenheit at a Celsius site.
UNSUPPORTED = re.compile(r"half of all|commonest|moving gas|psi a degree|Fahrenheit|most bad", re.I)


@pytest.mark.parametrize("name", shipped_names())
def test_no_sentence_claims_what_no_source_bears_out(name: str) -> None:
    for step in _procedure(name).steps:
        assert not UNSUPPORTED.search(f"{step.say} {step.show} {step.why}"), step.name


def test_a_recovered_side_at_zero_is_no_surprise() -> None:
    """40 CFR 82.156 Table 1: 0 inHg, which is 0 psig on both gauges."""
    bench = Bench(_procedure("recover-charge"))
    while bench.state.step != "recover-charge":
        _step_on(bench)
    while bench.state.unacknowledged():
        bench.say(i.Understood())
    assert "above 0 psig" in bench.read(2, "psig", "liquid-pressure")
    bench.read(0, "psig", "suction-pressure")
    bench.read(0, "psig", "liquid-pressure")
    assert bench.state.step == "oil-gas"


def test_a_celsius_site_hears_its_limits_in_celsius() -> None:
    """UFGS 15182 3.3.3: above 35 °F, printed there as 2 °C."""
    bench = Bench(_procedure("evacuate-and-release"), {"temperature-unit": "degC"})
    while bench.state.step != "line-length":
        _step_on(bench)
    bench.read(30, "ft")
    assert "below 1.7 °C" in bench.read(1, "degC")
    assert bench.state.step == "warm-up"
    assert "Warm the lines above 1.7 °C." in bench.text
    assert "Fahrenheit" not in bench.text


def test_a_site_can_ask_for_a_stricter_document_by_name() -> None:
    bench = Bench(_procedure("evacuate-and-release"), {"criterion": "UFGS-15741N section 3.7.3"})
    # UFGS-15741N 3.7.3: 300 microns, held for 2 hours
    assert (str(bench.state.limit("hold-limit")), str(bench.state.limit("hold-time"))) == (
        "300 microns", "120 min")
