"""Checks of the charge: superheat below 5 F never passes, and a valve's is judged, too."""

from __future__ import annotations

import pytest

from fieldvoice.jobstate import events as e
from fieldvoice.procedure.check import load
from fieldvoice.procedure.reader import shipped
from support.bench import Bench

SITE = {"refrigerant": "R-410A"}
ORIFICE = """\
procedure small "A check"
stage one "One"
step outdoor say "Outdoor?" read outdoor-temperature
step pressure say "Suction?" read suction-pressure
step line say "Line?" read suction-temperature
step wet say "Wet bulb?" read indoor-wet-bulb check superheat
  on on-target go to last on high go to last on low go to last on not-known go to last
step last say "Done." end done
"""
VALVE = """\
procedure small "A check"
stage one "One"
step pressure say "Suction?" read suction-pressure
step line say "Line?" read suction-temperature check valve-superheat
  on on-target go to last on high go to last on low go to last on not-known go to last
step last say "Done." end done
"""


def last_verdict(bench: Bench) -> e.VerdictGiven:
    return bench.events(e.VerdictGiven)[-1]


@pytest.mark.parametrize(
    ("outdoor", "wet", "line", "verdict", "said"),
    # R-410A at 118 psig: dew 39.8 F (CoolProp). Lennox 14ACX manual p. 26: 95 F and 64 F ask for
    # 6 F; 90 F and 63 F lie half way between 8 and 6
    [(95, 64, 41.0, "low", "Superheat is 1.2 °F, target 6.0, never below 5."),
     (95, 64, 45.0, "on-target", "Superheat is 5.2 °F, target 6.0, never below 5."),
     (90, 63, 47.0, "on-target", "Superheat is 7.2 °F, target 7.0, never below 5."),
     (95, 62, 47.0, "not-known", "dash")],
)
def test_superheat_of_an_orifice(
    outdoor: float, wet: float, line: float, verdict: str, said: str
) -> None:
    bench = Bench(ORIFICE, SITE)
    bench.read(outdoor, "degF", "outdoor-temperature")
    bench.read(118, "psig", "suction-pressure")
    bench.read(line, "degF", "suction-temperature")
    assert said in bench.read(wet, "degF", "indoor-wet-bulb")
    assert (last_verdict(bench).about, last_verdict(bench).verdict) == ("superheat", verdict)


@pytest.mark.parametrize(
    ("line", "verdict"), [(41.0, "low"), (50.0, "on-target"), (66.0, "high")]
)
def test_superheat_behind_a_valve(line: float, verdict: str) -> None:
    bench = Bench(VALVE, SITE)
    bench.read(118, "psig", "suction-pressure")
    said = bench.read(line, "degF", "suction-temperature")
    assert f"Superheat is {line - 39.8:.1f} °F; an expansion valve keeps 5 to 25." in said
    assert (last_verdict(bench).about, last_verdict(bench).verdict) == ("valve-superheat", verdict)


def test_a_valve_is_not_left_by_its_subcooling_alone() -> None:
    # 350 psig R-410A: bubble 106.7 F (CoolProp): 10.7 F of subcooling, target 10
    bench = Bench(load(shipped("charge-and-start-up")), SITE)
    bench.happen(e.StepOpened(bench.procedure.step("liquid").stage, "liquid", 1))
    bench.read(350, "psig", "liquid-pressure")
    assert "Verdict: on target." in bench.read(96, "degF", "liquid-temperature")
    assert bench.state.step == "valve-suction"
    bench.read(118, "psig", "suction-pressure")
    assert "Verdict: low." in bench.read(41, "degF", "suction-temperature")
    assert bench.state.step == "valve-look"


def test_a_site_in_celsius_hears_the_check_in_celsius() -> None:
    # 5.2 F of superheat is 2.9 C, the target of 6 F is 3.3 C, the floor of 5 F is 2.8 C
    bench = Bench(ORIFICE, {**SITE, "temperature-unit": "degC"})
    bench.read(95, "degF", "outdoor-temperature")
    bench.read(118, "psig", "suction-pressure")
    bench.read(45, "degF", "suction-temperature")
    said = bench.read(64, "degF", "indoor-wet-bulb")
    assert "Superheat is 2.9 °C, target 3.3, never below 2.8." in said
