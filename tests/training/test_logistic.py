"""The regression finds what data were drawn from, and keeps within bounds."""

from math import inf

import numpy as np
import pytest

from fieldvoice.training.belief import logistic

ANY = (-inf, inf)


def drawn(weights: list[float], intercept: float, seed: int = 3, lines: int = 20_000):
    rng = np.random.default_rng(seed)
    rows = rng.standard_normal((lines, len(weights))) * 2.0
    chance = 1 / (1 + np.exp(-(rows @ np.array(weights) + intercept)))
    return rows, (rng.random(lines) < chance).astype(float)


def test_it_finds_the_coefficients_that_data_were_drawn_from() -> None:
    rows, right = drawn([1.0, -0.5, 0.0], -0.7)
    intercept, found = logistic.fit(rows, right, np.ones(len(rows)), [(0, inf), (-inf, 0), ANY])
    assert intercept == pytest.approx(-0.7, abs=0.1)
    assert found == pytest.approx([1.0, -0.5, 0.0], abs=0.1)


def test_a_bound_is_kept_against_the_data() -> None:
    rows, right = drawn([1.0, 0.5], 0.0)
    _, found = logistic.fit(rows, right, np.ones(len(rows)), [(0, inf), (-inf, 0)])
    assert found[1] == 0.0
    assert found[0] > 0.5


def test_rows_count_as_often_as_they_are_said_to() -> None:
    rows, right = drawn([1.0], 0.0, lines=500)
    twice = logistic.fit(np.vstack([rows, rows]), np.hstack([right, right]), np.ones(1000), [ANY])
    heavy = logistic.fit(rows, right, np.full(500, 2.0), [ANY])
    assert twice[0] == pytest.approx(heavy[0], abs=1e-3)
    assert twice[1] == pytest.approx(heavy[1], abs=1e-3)


def test_a_column_that_never_changes_does_no_harm() -> None:
    rows, right = drawn([1.0, 0.0], 0.0, lines=2_000)
    rows[:, 1] = 0.0
    _, found = logistic.fit(rows, right, np.ones(len(rows)), [ANY, ANY])
    assert found[1] == 0.0


def test_a_bound_counts_in_the_units_of_the_column() -> None:
    rows, right = drawn([1.0, 0.0], 0.0)
    _, found = logistic.fit(rows * 5.0, right, np.ones(len(rows)), [ANY, (-inf, -0.3)])
    assert found[1] == pytest.approx(-0.3)


def test_nothing_is_surer_than_even_without_evidence() -> None:
    rows, right = drawn([1.0], 2.0)
    intercept, _ = logistic.fit(rows, right, np.ones(len(rows)), [ANY])
    assert intercept == 0.0
