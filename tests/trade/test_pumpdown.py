"""The pull forecast on curves of known course, and measured on simulated pulls."""

from __future__ import annotations

import json
import math
from collections.abc import Sequence
from importlib import resources

import pytest

from fieldvoice.quantity.constants import M3_PER_S_PER_CFM, PA_PER_ATM, from_microns
from fieldvoice.trade.errors import TradeError
from fieldvoice.trade.studies.pumpdown_study import study
from fieldvoice.trade.vacuum.decay_types import VacuumReading
from fieldvoice.trade.vacuum.pumpdown import PullForecast, forecast_pull, ideal_minutes


def forecast(microns: Sequence[float], target: float = 500, **more: float) -> PullForecast:
    readings = [VacuumReading(float(t), from_microns(p)) for t, p in enumerate(microns, start=2)]
    return forecast_pull(readings, from_microns(target), **more)


def test_ideal_pump_down_time() -> None:
    # t = (V/S) ln(p0/p): V/S x 7.3265 from an atmosphere to 500 microns; 2.16 L at 5 cfm: 6.7 s
    speed = 5 * M3_PER_S_PER_CFM
    found = ideal_minutes(2.16e-3, speed, PA_PER_ATM, from_microns(500))
    assert found * 60 == pytest.approx(6.7, abs=0.05)
    assert found * 60 * speed / 2.16e-3 == pytest.approx(7.3265, abs=1e-4)


def test_an_exponential_pull_is_forecast() -> None:
    curve = [8000 * math.exp(-t / 4) + 120 for t in range(9)]  # at 500 after 4 ln(8000/380)
    found = forecast(curve)
    true = 4 * math.log(8000 / 380) - 8
    assert found.low_minutes <= true <= found.high_minutes
    assert found.minutes_to_target == pytest.approx(true, rel=0.25)
    assert not found.stalled


def test_at_the_target_there_is_nothing_to_wait_for() -> None:
    found = forecast([900, 600, 450, 400])
    assert found.minutes_to_target == pytest.approx(0.0, abs=0.1)
    assert "Already" in found.reason


@pytest.mark.parametrize(
    ("level", "more", "cause"),
    # IAPWS: water at 20 C has 17546 microns; the triple point is 4588
    [
        (17_300, {"ambient_c": 20.0}, "water boiling off"),
        (4_600, {"ambient_c": 20.0}, "water freezing"),
        (900, {"ambient_c": 20.0}, "leak, moisture or pump"),
        (900, {"ambient_c": 20.0, "blank_off_pa": from_microns(40)}, "leak or moisture"),
        (900, {"blank_off_pa": from_microns(700)}, "contaminated pump oil"),
        (90, {"blank_off_pa": from_microns(60)}, "pump at its limit"),
    ],
)
def test_a_stall_names_its_likeliest_cause(
    level: float, more: dict[str, float], cause: str
) -> None:
    found = forecast([level * f for f in (1.002, 1.0, 0.999, 1.001, 1.0, 0.999)], 50, **more)
    assert found.stalled
    assert found.cause == cause
    assert cause in found.reason
    assert found.next_action


def test_a_rising_pressure_in_a_pull_is_said() -> None:
    found = forecast([700 * 1.08**t for t in range(7)])
    assert found.cause == "the pressure is rising"
    assert "pump runs" in found.next_action


def test_only_the_pull_since_the_nitrogen_break_counts() -> None:
    first = [4000, 2500, 1600, 1400, 1350]
    second = [8000 * math.exp(-t / 3) + 100 for t in range(7)]
    alone, after = forecast(second), forecast(first + second)
    assert len(after.readings) == len(second)
    assert after.minutes_to_target == pytest.approx(alone.minutes_to_target)


def test_a_stalled_pull_promises_nothing() -> None:
    found = forecast([1510, 1502, 1499, 1501, 1497, 1500])
    assert math.isinf(found.high_minutes)
    assert found.chance_of_reaching < 0.9
    assert found.to_dict()["high_minutes"] is None


def test_an_open_interval_still_says_by_when_it_is_likely_there() -> None:
    found = forecast([8000, 5200, 3400, 2300, 1600])
    assert math.isinf(found.high_minutes)
    assert found.minutes_to_target < found.likely_minutes < 120
    assert "chances in 100 that it stalls first" in found.reason


def test_sparse_readings_that_stand_still_are_a_stall_too() -> None:
    readings = [VacuumReading(float(t), from_microns(p))
                for t, p in ((0, 5000), (5, 4700), (10, 4600), (15, 4590), (20, 4588))]
    found = forecast_pull(readings, from_microns(500), ambient_c=20.0)
    # 4,588 microns is the triple point of water (IAPWS R14-08)
    assert found.stalled
    assert found.cause == "water freezing"


def test_a_rising_pressure_gets_no_forecast() -> None:
    assert forecast([500, 700, 900, 1100, 1300], target=400).reason.endswith("is not in sight.")


def test_a_target_close_by_is_told_plainly() -> None:
    found = forecast([8000, 4000, 2000, 1000, 510], target=500)
    assert found.reason.startswith("Under a minute to 500 microns")


def test_the_interval_is_right_about_as_often_as_it_says() -> None:
    found = study(900, seed=41)
    assert found.pulls > 350
    # 350 cases scatter by 0.016 about the published share
    assert 0.84 <= found.covered <= 0.96


@pytest.mark.parametrize("name", ["pumpdown_study.json", "pumpdown_study_fresh.json"])
def test_the_published_coverage_keeps_its_promise(name: str) -> None:
    text = resources.files("fieldvoice.trade.studies").joinpath(name).read_text()
    published = json.loads(text)
    assert published["pulls"] >= 2000
    assert 0.85 <= published["covered"] <= 0.95
    assert published["likely_kept"] >= 0.75
    missed = published["truth_earlier"] + published["truth_later"]
    assert published["covered"] + missed == pytest.approx(1.0)


@pytest.mark.parametrize(
    ("microns", "target", "message"),
    [
        ([900, 800], 500, "at least three"),
        ([900, -800, 700], 500, "reading 2"),
        ([900, 800, 700], 0, "target"),
        ([900, 800, 700], -5, "target"),
    ],
)
def test_bad_input_is_named(microns: list[float], target: float, message: str) -> None:
    with pytest.raises(TradeError, match=message):
        forecast(microns, target)


def test_times_must_grow() -> None:
    readings = [VacuumReading(t, 100.0) for t in (1.0, 3.0, 2.0)]
    with pytest.raises(TradeError, match="times must grow"):
        forecast_pull(readings, 50.0)
