"""The pull forecast on curves of known course: minutes, chances, causes and their words."""

from __future__ import annotations

import math
from collections.abc import Sequence

import pytest

from fieldvoice.quantity.constants import M3_PER_S_PER_CFM, PA_PER_ATM, from_microns
from fieldvoice.trade.errors import TradeError
from fieldvoice.trade.vacuum.decay_types import VacuumReading
from fieldvoice.trade.vacuum.pumpdown import PullForecast, forecast_pull, ideal_minutes

FALLING = (8000, 5200, 3400, 2300, 1600)
STANDING = (1510, 1502, 1499, 1501, 1497, 1500)


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
    assert found.chance_of_reaching > 0.7
    assert not found.stalled


def test_a_steady_fall_that_is_nearly_there_is_all_but_certain() -> None:
    curve = [8000 * math.exp(-t / 2) for t in range(6)]  # at 500 after 2 ln(8000/500)
    found = forecast(curve)
    assert found.low_minutes <= 2 * math.log(16) - 5 <= found.high_minutes
    assert found.chance_of_reaching > 0.95
    assert found.reason == "Under a minute to 500 microns, at most 2 minutes."


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


def test_a_stalled_pull_says_how_such_pulls_end() -> None:
    found = forecast(STANDING)
    assert found.chance_of_reaching < 0.7
    share = round(100 * found.chance_of_reaching)
    assert found.reason == (
        "1500 microns and hardly falling: leak, moisture or pump. As water dries up, "
        f"{share} of 100 such pulls get to 500 microns within two hours, half of those in "
        f"{found.minutes_to_target:.0f} minutes.")


def test_a_stall_that_likely_lasts_tells_no_minutes() -> None:
    found = forecast([420, 414, 409, 405, 402, 400], 200)
    share = round(100 * found.chance_of_reaching)
    assert share < 40
    assert found.reason.endswith(f"{share} of 100 such pulls get to 200 microns within two hours.")


def test_a_fall_that_slows_down_is_not_called_a_stall() -> None:
    found = forecast([1600, 1540, 1480, 1425, 1370, 1320])
    assert not found.stalled
    assert found.cause is None
    assert found.reason.startswith("1320 microns so far; its fall alone will likely stop short. ")


def test_the_last_reading_is_quoted_as_it_was_read() -> None:
    assert forecast([1110, 1097, 1091, 1088, 1086, 1085]).reason.startswith("1085 microns and ")


def test_minutes_come_with_what_they_count() -> None:
    found = forecast(FALLING)
    away = 100 - round(100 * found.chance_of_reaching)
    assert found.reason == (
        f"About {found.minutes_to_target:.0f} minutes to 500 microns, between "
        f"{math.floor(found.low_minutes)} and {math.ceil(found.high_minutes)} minutes, if it gets "
        "there; "
        f"{away} of 100 such pulls do not within two hours.")


def test_what_will_not_arrive_has_no_minutes_in_json() -> None:
    found = forecast([420, 414, 409, 405, 402, 400], 200)
    assert found.chance_of_reaching < 0.4
    plain = found.to_dict()
    assert [plain[name] for name in ("minutes_to_target", "low_minutes", "high_minutes")] == (
        [None] * 3)


def test_a_blank_off_above_the_target_puts_it_out_of_reach() -> None:
    # a pump cannot pull below its ultimate pressure: t = (V/S) ln((p0 - pu)/(p - pu)) (vacuum
    # textbooks) has no end for a target at or below pu
    found = forecast(FALLING, 500, blank_off_pa=from_microns(700))
    assert found.chance_of_reaching == 0.0
    assert math.isinf(found.minutes_to_target)
    assert found.reason == ("The rig alone read 700 microns at blank-off: it cannot reach 500 "
                            "microns. Likely contaminated pump oil.")
    assert found.next_action.startswith("Change the pump oil")
    assert forecast(FALLING, 500, blank_off_pa=from_microns(500)).chance_of_reaching == 0.0


def test_a_good_pump_at_its_limit_is_not_blamed_for_its_oil() -> None:
    found = forecast([300, 200, 140, 110, 100], 50, blank_off_pa=from_microns(60))
    assert found.cause == "pump at its limit"
    assert "cannot reach 50 microns" in found.reason


def test_the_nearer_the_blank_off_the_less_likely_is_the_target() -> None:
    chances = [forecast(FALLING, 500, **more).chance_of_reaching for more in (
        {}, {"blank_off_pa": from_microns(50)}, {"blank_off_pa": from_microns(300)},
        {"blank_off_pa": from_microns(450)})]
    assert chances == sorted(chances, reverse=True)
    assert chances[0] - chances[-1] > 0.2


def test_a_pull_below_its_blank_off_refutes_it() -> None:
    found = forecast([8000, 4000, 2000, 1000, 510], blank_off_pa=from_microns(900))
    without = forecast([8000, 4000, 2000, 1000, 510])
    assert found.chance_of_reaching == without.chance_of_reaching
    assert found.reason == ("The pull reads below the blank-off of 900 microns: that reading no "
                            f"longer holds. {without.reason}")


def test_a_blank_off_within_the_gauge_s_error_of_the_reading_still_counts() -> None:
    found = forecast([5200, 2400, 1200, 800, 690], blank_off_pa=from_microns(700))
    assert found.chance_of_reaching == 0.0


def test_sparse_readings_that_stand_still_are_a_stall_too() -> None:
    readings = [VacuumReading(float(t), from_microns(p))
                for t, p in ((0, 5000), (5, 4700), (10, 4600), (15, 4590), (20, 4588))]
    found = forecast_pull(readings, from_microns(500), ambient_c=20.0)
    # 4,588 microns is the triple point of water (IAPWS R14-08)
    assert found.stalled
    assert found.cause == "water freezing"


def test_a_rising_pressure_gets_no_forecast() -> None:
    found = forecast([500, 700, 900, 1100, 1300], target=400)
    assert found.reason == "1300 microns, and the pressure is rising: no forecast until it falls."
    assert math.isinf(found.high_minutes)


def test_a_target_close_by_is_told_plainly() -> None:
    found = forecast([8000, 4000, 2000, 1000, 510], target=500)
    assert found.reason.startswith("Under a minute to 500 microns")


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


def test_the_fall_over_the_next_minute_goes_on_at_the_last_pace() -> None:
    # 1,600 after 2,300 a minute before: in the next minute to 1600 x 1600 / 2300
    assert forecast(FALLING).fall_pa_per_min == pytest.approx(
        from_microns(1600 - 1600 * 1600 / 2300))
    assert forecast([500, 700, 900]).fall_pa_per_min < 0


def test_times_must_grow() -> None:
    readings = [VacuumReading(t, 100.0) for t in (1.0, 3.0, 2.0)]
    with pytest.raises(TradeError, match="times must grow"):
        forecast_pull(readings, 50.0)


def test_at_the_target_no_minutes_are_left() -> None:
    found = forecast([900, 600, 500.0])
    assert (found.chance_of_reaching, found.low_minutes, found.minutes_to_target,
            found.high_minutes) == (1.0, 0.0, 0.0, 0.0)


@pytest.mark.parametrize(
    ("minutes", "stalled"), [((0.0, 1.0, 2.9), False), ((0.0, 1.0, 3.1), True),
                             ((0.0, 0.2, 3.1), True)],
)
def test_a_stall_is_seen_from_three_minutes_on(minutes: tuple[float, ...], stalled: bool) -> None:
    readings = [VacuumReading(t, from_microns(1500)) for t in minutes]
    assert forecast_pull(readings, from_microns(500)).stalled is stalled


@pytest.mark.parametrize(
    ("share", "stalled"),
    # a fall of 5 % in five minutes is hardly one: 1.2 % a minute is more, 0.8 % less
    [(0.988, False), (0.992, True)],
)
def test_a_fall_of_five_percent_in_five_minutes_is_a_fall(share: float, stalled: bool) -> None:
    assert forecast([1500 * share**t for t in range(7)]).stalled is stalled


def test_only_the_last_six_minutes_say_whether_it_stalls() -> None:
    assert forecast([9000, 5000, 2500, *STANDING, 1500]).stalled
    assert not forecast([9000, 5000, *STANDING[:3]]).stalled


@pytest.mark.parametrize(("jump", "kept"), [(2.9, 6), (3.1, 3)])
def test_a_break_is_a_jump_to_three_times_the_reading(jump: float, kept: int) -> None:
    found = forecast([4000, 2000, 1000, 1000 * jump, 900, 800])
    assert len(found.readings) == kept


@pytest.mark.parametrize(
    ("blank_off", "chance"),
    # error of 1 % and five microns; three of them below 560 is 528, below 550 518.5
    [(560, False), (550, True)],
)
def test_a_pull_three_errors_below_its_blank_off_refutes_it(blank_off: float, chance: bool
                                                           ) -> None:
    found = forecast([8000, 4000, 2000, 1000, 522], blank_off_pa=from_microns(blank_off))
    assert (found.chance_of_reaching == 0.0) is chance


@pytest.mark.parametrize(
    ("more", "named"),
    [({"ambient_c": -60.0}, None), ({"ambient_c": -60.1}, "ambient"), ({"ambient_c": 70.0}, None),
     ({"ambient_c": 70.1}, "ambient"), ({"gauge_noise_fraction": 0.5}, None),
     ({"gauge_noise_fraction": 0.51}, "noise"), ({"gauge_noise_fraction": -0.01}, "noise"),
     ({"gauge_resolution_pa": 0.0}, "resolution"), ({"blank_off_pa": 0.0}, "blank-off"),
     ({"target": 1.001}, None), ({"target": 0.99}, "target"), ({"target": 759_999.0}, None),
     ({"target": 760_010.0}, "target")],
)
def test_a_range_ends_where_it_is_said_to(more: dict[str, float], named: str | None) -> None:
    if named is None:
        assert forecast(FALLING, **more).readings
        return
    with pytest.raises(TradeError, match=named):
        forecast(FALLING, **more)


def test_ideal_minutes_start_at_most_a_tenth_above_an_atmosphere() -> None:
    assert ideal_minutes(1.0, 1.0, 111_457.0, 111_457.0) == 0.0
    with pytest.raises(TradeError, match="start pressure"):
        ideal_minutes(1.0, 1.0, 111_458.0, 100.0)
    with pytest.raises(TradeError, match="start pressure"):
        ideal_minutes(1.0, 1.0, 99.0, 100.0)


@pytest.mark.parametrize(
    ("fraction", "resolution_pa", "stalled"),
    # ln p is known to sigma / p. Of 150, 300, 150, 400, 150, 150 Pa a minute apart, with one error
    # for all the weights are p squared, 1 4 1 7.11 1 1, and the line's slope 0.260 / 25.64 =
    # +0.010 a minute; with errors as the pressures all weigh alike: -0.549 / 17.5 = -0.031
    [(0.0, 10.0, True), (0.1, 0.001, False)],
)
def test_a_stall_is_seen_with_each_reading_weighed_by_its_error(
    fraction: float, resolution_pa: float, stalled: bool
) -> None:
    readings = [VacuumReading(float(t), p)
                for t, p in enumerate((150.0, 300.0, 150.0, 400.0, 150.0, 150.0))]
    found = forecast_pull(readings, 50.0, gauge_noise_fraction=fraction,
                          gauge_resolution_pa=resolution_pa)
    assert found.stalled is stalled
