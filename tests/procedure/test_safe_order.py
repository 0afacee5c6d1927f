"""What must hold on every path of every shipped procedure before a joint is opened, or filled.

The rules are common practice but for those that name a source. What a step does to rig and system
is told by its cautions and readings where it can be, else by its name in the tables here.
"""

from __future__ import annotations

import re
from functools import cache
from itertools import pairwise

import pytest

from fieldvoice.procedure.check import load
from fieldvoice.procedure.model import Procedure
from fieldvoice.procedure.reader import shipped, shipped_names
from fieldvoice.procedure.step import Need, Step
from fieldvoice.quantity.constants import PA_PER_ATM
from fieldvoice.quantity.convert import to_si
from support.flow_state import Sort, reached_from, unproved

PRESSURES = ("nitrogen-pressure", "suction-pressure", "liquid-pressure")
# what the prompts call opening, cutting or making a joint of a system that may hold pressure
OPENS = re.compile(r"(open|cut|repair|remake)\b[^.]*\bjoint|make the repair|filter drier", re.I)
NEW_JOINTS = ("flare-torque", "press-join", "braze")  # of pipe that has held nothing yet

SHUTS_TOOLS = re.compile(r"shut every core tool|shut every valve between pump and system|"
                         r"core tools? shut\b", re.I)
OPENS_TOOLS = re.compile(r"open the way from pump to system", re.I)
SAYS_TOOLS_SHUT = re.compile(r"core tools (still|stay) shut", re.I)
PUMP_RUNS = ("blank-off", "sweep-start", "start-pump", "pump-again")
PUMP_STOPS = ("rig-stop", "pump-off", "dry-pump")
VACUUM_GAUGE_ON = ("gauge-place", "sweep-out", "dry-open", "leak-gauge-back")  # system at zero
VACUUM_GAUGE_SEES = (*VACUUM_GAUGE_ON, "gauge-on-hoses", "leak-open")
VACUUM_GAUGE_SHUT = ("rig-stop", "gauge-off", "sweep-gauge", "dry-gauge", "leak-gauge",
                     "shield-gauge")
PRESSURE_GAUGE_ON = ("pressure-gauge", "test-gauge", "recovery-gauges", "zero-gauges", "gauges-on")

EVERY = pytest.mark.parametrize("name", shipped_names())


@cache
def _procedure(name: str) -> Procedure:
    return load(shipped(name))


def _plain(step: Step) -> str:
    """Its name where it was written; the retest is the nitrogen test over again."""
    return step.name.removeprefix("retest-")


def _named(*names: str) -> Sort:
    return lambda step: _plain(step) in names


def _gauge_pa(procedure: Procedure, name: str | None) -> float | None:
    limit = procedure.limits.get(name or "")
    return None if limit is None else to_si(limit.value, limit.unit) - PA_PER_ATM


def _at_zero(procedure: Procedure, need: Need) -> bool:
    high = _gauge_pa(procedure, need.high)
    return need.quantity in PRESSURES and high is not None and high <= 1.0  # Pa


def _proves_zero(procedure: Procedure) -> Sort:
    return lambda step: step.gate and any(_at_zero(procedure, n) for n in step.needs)


def _lets_pressure_in(step: Step) -> bool:
    return bool({"nitrogen", "valves"} & set(step.cautions)) and _plain(step) != "recovery-gauges"


# --- joints ---------------------------------------------------------------------------------------


@EVERY
def test_zero_is_proved_on_every_path_before_a_joint_is_opened_or_heated(name: str) -> None:
    procedure = _procedure(name)
    assert unproved(
        procedure, wanted=lambda s: "zero-first" in s.cautions, brings=_proves_zero(procedure),
        undoes=_lets_pressure_in,
    ) == []


@EVERY
def test_a_step_that_opens_a_joint_warns_of_pressure_behind_it(name: str) -> None:
    for step in _procedure(name).steps:
        if OPENS.search(step.say):
            assert "zero-first" in step.cautions, step.name


@EVERY
def test_every_joint_that_is_made_holds_the_full_test_before_vacuum_or_charge(name: str) -> None:
    procedure = _procedure(name)

    def passed(step: Step, target: str) -> bool:
        way = step.way("passed")
        return step.hold is not None and step.hold.judge == "nitrogen" and way is not None \
            and way.to == target

    for step in procedure.steps:
        if "zero-first" in step.cautions or step.name in NEW_JOINTS:
            found = reached_from(procedure, step.name, stopped_by=passed)
            assert [s for s in found if _fills(procedure, procedure.step(s))] == [], step.name


def _fills(procedure: Procedure, step: Step) -> bool:
    """It pumps, or lets refrigerant in."""
    pressures_in = any(n.quantity == "suction-pressure" and n.low for n in step.needs)
    quantities = {n.quantity for n in step.needs} | {step.hold.quantity if step.hold else None}
    return pressures_in or bool(quantities & {"vacuum", "charge-added"})


@EVERY
def test_the_hold_that_proves_joints_is_long_and_stands_at_the_full_pressure(name: str) -> None:
    """Trane 5TTR5018 section 8.1: at the design pressure, at least 60 minutes without loss."""
    procedure = _procedure(name)

    def judged(step: Step) -> bool:
        return step.hold is not None and step.hold.judge == "nitrogen"

    for step in filter(judged, procedure.steps):
        assert step.hold is not None
        length = procedure.limits[step.hold.duration]
        assert to_si(length.value, length.unit) >= 3600
    assert unproved(
        procedure, wanted=judged,
        brings=lambda s: any(n.high == "full-high" and n.low == "full-low" for n in s.needs),
        undoes=lambda s: "zero-first" in s.cautions,
    ) == []
    full = procedure.limits.get("full-high")
    assert full is None or (full.figure, full.of) == ("full-stage", "design-pressure")


# --- recovery -------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["recover-charge", "repair-visit", "leak-search"])
def test_recovery_is_proved_on_both_sides_after_a_wait_and_with_a_rated_machine(name: str) -> None:
    """40 CFR 82.156 Table 1: the level is verified before the system is opened."""
    procedure = _procedure(name)
    proof = procedure.step("recovered")
    assert proof.gate
    assert {n.quantity for n in proof.needs if _at_zero(procedure, n)} == {
        "suction-pressure", "liquid-pressure"}
    assert {n.otherwise for n in proof.needs} == {"recover-charge"}
    assert unproved(procedure, wanted=_named("recovered"), brings=lambda s: s.name == "oil-gas",
                    undoes=_named("recover-charge")) == []
    after = _named("open-sweep", "gauge-off", "recovered-weight", "first-raise")
    assert unproved(procedure, wanted=after, brings=_named("recovered"),
                    undoes=_named("recover-charge")) == []
    rated = procedure.step("recovery-rated")
    assert rated.gate
    assert [w.answer for w in rated.when] == ["refrigerant-class"]
    assert "recover-charge" not in reached_from(
        procedure, procedure.steps[0].name, stopped_by=lambda _, to: to == "recovery-rated")


def test_a_wet_system_is_opened_only_with_its_charge_shut_in_and_zero_on_both_sides() -> None:
    procedure = _procedure("dry-wet-system")
    both = procedure.step("zero-both")
    assert {n.quantity for n in both.needs if _at_zero(procedure, n)} == {
        "suction-pressure", "liquid-pressure"}
    for proof in ("valves-shut", "zero-both"):
        assert procedure.step(proof).gate
        assert unproved(procedure, wanted=_named("open-low"), brings=_named(proof),
                        undoes=lambda _: False) == []


# --- the rig --------------------------------------------------------------------------------------


@EVERY
def test_core_tools_are_shut_wherever_a_step_says_so(name: str) -> None:
    assert unproved(
        _procedure(name), wanted=lambda s: bool(SAYS_TOOLS_SHUT.search(s.show)),
        brings=lambda s: bool(SHUTS_TOOLS.search(f"{s.say} {s.show}")),
        undoes=lambda s: bool(OPENS_TOOLS.search(s.say)),
    ) == []


@EVERY
def test_the_pump_is_stopped_once_and_stands_before_it_is_taken_off(name: str) -> None:
    procedure = _procedure(name)
    runs, stops = _named(*PUMP_RUNS), _named(*PUMP_STOPS)
    assert unproved(procedure, wanted=stops, brings=runs, undoes=stops) == []
    off = _named("pump-away", "leak-pump", "dry-oil", "hoses-on")
    assert unproved(procedure, wanted=off, brings=stops, undoes=runs, at_first=True) == []


@EVERY
def test_the_vacuum_gauge_sees_whatever_it_is_asked_for(name: str) -> None:
    def asks(step: Step) -> bool:
        held = step.hold.quantity if step.hold else None
        return "vacuum" in (held, *(n.quantity for n in step.needs)) or step.name == "blank-off"

    assert unproved(_procedure(name), wanted=asks, brings=_named(*VACUUM_GAUGE_SEES),
                    undoes=_named(*VACUUM_GAUGE_SHUT)) == []


@EVERY
def test_the_vacuum_gauge_is_shut_away_before_any_pressure_comes(name: str) -> None:
    procedure = _procedure(name)

    def comes(step: Step) -> bool:
        return step.name == "crack-liquid" or any(
            n.quantity == "nitrogen-pressure" and n.low for n in step.needs)

    assert unproved(procedure, wanted=comes, brings=_named(*VACUUM_GAUGE_SHUT),
                    undoes=_named(*VACUUM_GAUGE_SEES), at_first=True) == []


@EVERY
def test_the_vacuum_gauge_meets_the_system_only_past_a_proof_of_zero(name: str) -> None:
    procedure = _procedure(name)
    assert unproved(procedure, wanted=_named(*VACUUM_GAUGE_ON), brings=_proves_zero(procedure),
                    undoes=_lets_pressure_in) == []


@EVERY
def test_a_pressure_gauge_is_on_before_a_pressure_is_asked_for(name: str) -> None:
    def asks(step: Step) -> bool:
        return any(n.quantity in PRESSURES and (n.low or n.high) for n in step.needs)

    assert unproved(_procedure(name), wanted=asks, brings=_named(*PRESSURE_GAUGE_ON),
                    undoes=_named("tools-off")) == []


# --- closing --------------------------------------------------------------------------------------


@EVERY
def test_back_seated_ports_stay_open_until_the_cores_are_proved(name: str) -> None:
    procedure = _procedure(name)
    assert unproved(procedure, wanted=_named("purge-tools", "core-leak"), brings=lambda _: False,
                    undoes=_named("seat-valves"), at_first=True) == []
    for opening in ("open-liquid", "open-suction"):
        if opening in procedure.by_name:
            assert "a turn back" in procedure.step(opening).say


CLOSING = ("charge-way", "tools-off", "core-leak", "caps-on", "cap-leak", "locking-caps", "label",
           "panels", "hand-over")


@pytest.mark.parametrize("name", ["evacuate-and-release", "release-and-close", "dry-wet-system"])
def test_charge_cores_caps_label_and_panels_come_in_this_order(name: str) -> None:
    procedure = _procedure(name)
    for before, after in pairwise(CLOSING):
        assert unproved(procedure, wanted=_named(after), brings=_named(before),
                        undoes=lambda _: False) == [], after
        back = reached_from(procedure, after, stopped_by=lambda _, to: to == "core-fix")
        assert before not in back or (before, after) == ("core-leak", "caps-on"), before


@pytest.mark.parametrize("name", ["commission-split-system", "repair-visit"])
def test_caps_and_label_wait_for_the_start_up_where_one_follows(name: str) -> None:
    names = _procedure(name).by_name
    assert {"core-leak", "gauges-on", "gauges-off", "port-caps", "readings-on"} <= set(names)
    assert {"caps-on", "seat-valves", "label", "panels"} & set(names) == set()
