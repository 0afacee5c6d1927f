"""The fit of a standing vacuum against the same Bayes worked out from covariances."""

from __future__ import annotations

import math

import numpy as np
import pytest

from fieldvoice.quantity.constants import from_microns
from fieldvoice.trade.vacuum.decay_family import (
    FLAT,
    LEVEL,
    LINE,
    LINE_LEVEL,
    LINE_WALLS,
    WALLS,
    Curves,
    Floats,
    family,
)
from fieldvoice.trade.vacuum.decay_shapes import Fits, Record, fit_shapes

TIMES = np.arange(11.0)
WATER = (1750.0, 580.0)
RECORDS = {
    "flat": from_microns(1) * np.array([250, 268, 275, 276, 280, 281, 280, 282, 279, 281, 283.0]),
    "line": from_microns(1) * (250.0 + 20.0 * TIMES),
    "levelling": from_microns(1) * (250.0 - 900.0 * np.expm1(-TIMES / 3.0)),
    "both": from_microns(1) * (250.0 - 900.0 * np.expm1(-TIMES / 2.0) + 60.0 * TIMES),
}


def record(pressures: Floats, ceiling_pa: float = 2700.0) -> Record:
    return Record(TIMES, pressures, 0.01 * pressures + from_microns(5), ceiling_pa, WATER)


def weighed(asked: Record) -> tuple[list[float], float]:
    """Chance of each name and mean pressure at the end, by the normal density of the readings.

    Prior deviations as the assumptions say: start as wide as first reading and rise together,
    evening out a quarter of the first reading (one and a half of it where wide), rate and swing as
    wide as the rise, walls 8 microns a minute at most.
    """
    rng, tried = np.random.default_rng(3), family(10.0)
    p, sigmas = asked.pressures, asked.sigmas
    size = max(float(p.max() - p.min()), 3.0 * float(sigmas.max()))
    curves = tried.curves.at(TIMES)
    logs, ends = [], []
    for name, curve, wide, full, log_prior in zip(
            tried.name, tried.curve, tried.wide, tried.full, tried.log_prior, strict=True):
        falling = tried.curves.falling[curve]
        most = min(size, from_microns(8.0) * 10.0) if falling else size
        spreads = np.array([
            p[0] + size, (1.5 if wide else 0.25) * p[0],
            size / 10.0 if name in (LINE, LINE_LEVEL, LINE_WALLS) else 0.0,
            WATER[1] if full else most / curves[curve, -1] if name >= LEVEL else 0.0])
        centre = np.array([0.0, 0.0, 0.0, WATER[0] if full else 0.0])
        columns = np.column_stack([np.ones(11), np.exp(-TIMES / 0.4), TIMES, curves[curve]])
        prior = np.diag(spreads**2)
        whole = columns @ prior @ columns.T + np.diag(sigmas**2)
        gain = prior @ columns.T @ np.linalg.inv(whole)
        left = p - p[0] - columns @ centre
        log = -0.5 * left @ np.linalg.solve(whole, left) - 0.5 * np.linalg.slogdet(whole)[1]
        draws = rng.multivariate_normal(centre + gain @ left, prior - gain @ columns @ prior, 1500)
        start, rate, swing = p[0] + draws[:, 0], draws[:, 2], draws[:, 3]
        rate, swing = (x if s else 0.0 * x for x, s in zip((rate, swing), spreads[2:], strict=True))
        allowed = (rate >= 0) & (swing >= 0) & (start > 0)
        if name >= LEVEL and not falling:
            allowed &= start + swing <= asked.ceiling_pa
        bounds = 0 if full else {FLAT: 0, LINE: 1, LEVEL: 1, WALLS: 1}.get(name, 2)
        share = max(float(allowed.mean()), 1e-9)
        logs.append(log + log_prior + math.log(share) + bounds * math.log(2.0))
        ends.append((start + 10.0 * rate + swing * curves[curve, -1])[allowed].mean()
                    if allowed.any() else 0.0)
    weights = np.exp(np.array(logs) - max(logs))
    weights /= weights.sum()
    return np.bincount(tried.name, weights, 6).tolist(), float(weights @ np.array(ends))


@pytest.mark.filterwarnings("ignore:covariance is not")  # of left-out terms: rounding
@pytest.mark.parametrize("name", RECORDS)
def test_chances_and_end_are_those_of_bayes_rule(name: str) -> None:
    asked = record(RECORDS[name])
    found, (chances, end) = fit_shapes(asked), weighed(asked)
    # 64 fixed draws a shape: a share of a half is known to a sixteenth of itself
    assert found.shape_chances == pytest.approx(chances, abs=0.05)
    assert found.mean(found.pressure(10.0)) == pytest.approx(end, rel=0.01)


@pytest.mark.filterwarnings("ignore:covariance is not")
def test_a_ceiling_below_the_level_leaves_other_explanations() -> None:
    asked = record(RECORDS["levelling"], ceiling_pa=from_microns(1145))
    found, (chances, _) = fit_shapes(asked), weighed(asked)
    assert found.shape_chances == pytest.approx(chances, abs=0.15)
    levels = (found.start + found.swing)[(found.swing > 0) & ~found.curves.falling[:, None]
                                         & (found.chance > 0)]
    assert levels.max() <= from_microns(1145)


@pytest.mark.filterwarnings("ignore:covariance is not")
@pytest.mark.parametrize("name", ["flat", "line"])
def test_what_does_not_head_for_a_level_may_start_above_any_that_water_has(name: str) -> None:
    asked = record(RECORDS[name], ceiling_pa=20.0)  # both begin at 33 Pa
    found, (chances, _) = fit_shapes(asked), weighed(asked)
    assert found.shape_chances == pytest.approx(chances, abs=0.05)
    assert found.shape_chances[LEVEL] + found.shape_chances[LINE_LEVEL] < 1e-6


@pytest.mark.parametrize("name", RECORDS)
def test_a_left_out_part_is_nothing_and_the_others_are_not_negative(name: str) -> None:
    found = fit_shapes(record(RECORDS[name]))
    rises, slows = found.rate != 0, found.swing != 0
    falling = np.broadcast_to(found.curves.falling[:, None], rises.shape)
    masks = {FLAT: ~rises & ~slows, LINE: rises & ~slows, LEVEL: ~rises & slows & ~falling,
             LINE_LEVEL: rises & slows & ~falling, WALLS: ~rises & slows & falling,
             LINE_WALLS: rises & slows & falling}
    for place, mask in masks.items():
        assert float(found.chance[mask].sum()) == pytest.approx(found.shape_chances[place],
                                                                abs=1e-4)
    counted = found.chance > 0
    assert found.chance.sum() == pytest.approx(1.0)
    assert found.rate[counted].min() >= 0.0
    assert found.swing[counted].min() >= 0.0
    assert found.start[counted].min() > 0.0


def test_readings_that_no_shape_fits_widen_the_errors() -> None:
    # alternately ten standard errors above and below: chi-squared of 100 a reading, eight free
    seen = 100.0 + 10.0 * np.where(np.arange(11) % 2, 1.0, -1.0)
    rough = fit_shapes(Record(TIMES, seen, np.full(11, 1.0), 2700.0, WATER))
    wide = fit_shapes(Record(TIMES, seen, np.full(11, 12.0), 2700.0, WATER))
    assert 0.5 < rough.misfit < 1.5
    spread = float(np.std(rough.start[rough.chance > 0]))
    assert spread == pytest.approx(float(np.std(wide.start[wide.chance > 0])), rel=0.2)


def test_misfit_is_chi_squared_per_degree_of_freedom() -> None:
    # errors of one and a bit of alternate sign about a level: about 11 of eight degrees
    seen = 100.0 + np.where(np.arange(11) % 2, 1.0, -1.0)
    found = fit_shapes(Record(TIMES, seen, np.full(11, 1.0), 2700.0, WATER))
    assert found.misfit == pytest.approx(10.0 / 8.0, abs=0.15)


def test_a_gauge_is_good_to_a_tenth_of_its_reading() -> None:
    # common practice; two standard errors of 64 draws: 5 % known to a tenth of itself
    gain = fit_shapes(record(RECORDS["flat"])).gain
    assert float(np.std(np.log(gain))) == pytest.approx(0.05, rel=0.25)
    assert float(np.mean(gain)) == pytest.approx(1.0, abs=0.02)


def test_pressure_slope_and_means_of_draws_by_hand() -> None:
    curves = Curves(np.array([5.0, 7.0]), np.zeros(2), np.array([False, True]))
    fits = Fits(np.array([[0.75], [0.25]]), np.array([[50.0], [60.0]]), np.array([[2.0], [1.0]]),
                np.array([[100.0], [30.0]]), curves, np.ones(1), (0.0,) * 6, 1.0)
    water, walls = 100.0 * (1.0 - math.exp(-2.0)), 30.0 * math.log(17.0 / 7.0)
    assert fits.slowing(10.0)[:, 0] == pytest.approx([water, walls])
    assert fits.pressure(10.0)[:, 0] == pytest.approx([70.0 + water, 70.0 + walls])
    # over the last hundredth of a minute, so of minute 9.995
    steep = [2.0 + 20.0 * math.exp(-1.999), 1.0 + 30.0 / 16.995]
    assert fits.slope(10.0)[:, 0] == pytest.approx(steep, rel=1e-5)
    assert fits.mean(fits.start) == 52.5
    assert fits.mean(fits.start, np.array([[0.0], [1.0]])) == 60.0
    assert fits.mean(fits.start, np.zeros((2, 1))) == 0.0
