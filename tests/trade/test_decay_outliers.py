"""Which readings are set aside, on records whose errors are written down by hand."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from fieldvoice.trade.vacuum.decay_family import Floats, tau_grid
from fieldvoice.trade.vacuum.decay_outliers import find_outliers

# With p terms over n readings, one that is d standard errors off adds d^2 (1 - h) to chi-squared,
# h its leverage: p / n on average (textbooks of regression), 0.1 of 40 readings.


def found(
    errors: dict[int, float], count: int = 40, minutes: float = 20.0,
    shape: Callable[[Floats], Floats] = np.zeros_like, sigma: float = 1.0,
    noise: float = 0.0,
) -> tuple[int, ...]:
    """Places set aside of a shape with these errors, in sigmas, and others of alternate sign."""
    times = np.linspace(0.0, minutes, count)
    pressures = 300.0 + shape(times) + noise * sigma * np.where(np.arange(count) % 2, 1.0, -1.0)
    for place, error in errors.items():
        pressures[place] += error * sigma
    return find_outliers(times, pressures, np.full(count, sigma))


@pytest.mark.parametrize(
    ("errors", "aside"),
    [({}, ()), ({20: 5.0}, ()), ({20: -5.0}, ()), ({20: 7.0}, (20,)), ({20: -7.0}, (20,)),
     ({30: 40.0, 12: -15.0}, (12, 30))],
)
def test_a_reading_six_errors_off_is_set_aside_and_one_five_errors_off_is_not(
    errors: dict[int, float], aside: tuple[int, ...]
) -> None:
    assert found(errors) == aside


def test_a_second_error_beside_it_makes_a_first_one_no_worse() -> None:
    # 5.2^2 of 0.9 is 24, below thirty, though it is more than half of the misfit
    assert found({15: 5.2, 27: 3.3}) == ()


@pytest.mark.parametrize(
    ("shape", "sigma"),
    [(lambda t: 80.0 * t, 1.0), (lambda t: -900.0 * np.expm1(-t / tau_grid(20.0)[9]), 0.1),
     (lambda t: -120.0 * np.exp(-t / 0.4), 0.1)],
    ids=["line", "saturating", "evening out"],
)
def test_on_each_smooth_shape_a_wrong_reading_and_no_other_is_found(
    shape: Callable[[Floats], Floats], sigma: float
) -> None:
    assert found({}, shape=shape, sigma=sigma) == ()
    assert found({25: 8.0}, shape=shape, sigma=sigma) == (25,)


def test_at_most_a_quarter_of_the_readings_is_set_aside() -> None:
    assert found({3: 2000.0, 5: 700.0, 7: 200.0}, count=12) == (3, 5, 7)
    assert found({3: 2000.0, 5: 700.0, 7: 200.0}, count=11) == (3, 5)


def test_at_most_eight_of_a_long_record_are_set_aside() -> None:
    errors = {10 * k: 3.0 ** (10 - k) * 10.0 for k in range(1, 11)}
    aside = found(errors, count=110)
    assert aside == tuple(10 * k for k in range(1, 9))


@pytest.mark.parametrize("count", [7, 8, 10, 12])
def test_seven_readings_and_more_may_even_out_first(count: int) -> None:
    def evening_out(times: Floats) -> Floats:
        return -120.0 * np.exp(-times / 0.4)

    half_minutes = 0.5 * (count - 1)
    assert found({}, count, half_minutes, evening_out, sigma=0.1) == ()
    assert found({count - 3: 400.0}, count, half_minutes, evening_out, sigma=0.1) == (count - 3,)


@pytest.mark.parametrize("count", [3, 4, 5])
def test_so_few_readings_accuse_none(count: int) -> None:
    assert found({2: 100.0}, count=count) == ()


def test_six_readings_accuse_one() -> None:
    assert found({3: 100.0}, count=6) == (3,)


@pytest.mark.parametrize(("error", "aside"), [(9.0, ()), (15.0, (50,))])
def test_in_a_noisy_record_it_takes_more(error: float, aside: tuple[int, ...]) -> None:
    # the others are two errors off each, so chi-squared is four for each of them: thirty times
    # four is 120; nine squared is less, fifteen minus two squared more
    assert found({50: error}, count=100, noise=2.0) == aside


def test_what_halves_the_misfit_needs_no_more_than_thirty() -> None:
    # others half an error off: chi-squared 10 of 40; 7 errors add more than as much again
    assert found({20: 7.5}, noise=0.5) == (20,)


@pytest.mark.parametrize("count", [120, 121, 400])
def test_a_long_record_is_judged_on_fewer_shapes_alike(count: int) -> None:
    shape = lambda t: -900.0 * np.expm1(-t / 5.0)  # noqa: E731
    assert found({70: 9.0}, count=count, shape=shape, sigma=3.0) == (70,)
    assert found({}, count=count, shape=shape, sigma=3.0) == ()


def test_the_first_reading_is_its_own_only_witness() -> None:
    # it may sit far below, where the gauge was close to the pump
    assert found({0: -200.0}, count=11, minutes=100.0) == ()
    assert 0 not in found({0: -100.0}, count=15, minutes=10.0)


def test_each_reading_is_weighed_by_its_own_error() -> None:
    # a line; errors of 0.1 and 10 by turns, one reading of either kind eight of its own off
    times = np.linspace(0.0, 20.0, 40)
    sigmas = np.where(np.arange(40) % 2, 10.0, 0.1)
    for place in (20, 25):
        pressures = 300.0 + 15.0 * times
        assert find_outliers(times, pressures, sigmas) == ()
        pressures[place] += 8.0 * sigmas[place]
        assert find_outliers(times, pressures, sigmas) == (place,)
