"""Fitting confidence: on lines heard before, without decoding."""

import random
from pathlib import Path

import numpy as np
import pytest

from fieldvoice.dialogue.belief.evidence import NAMES
from fieldvoice.dialogue.confidence import Decision
from fieldvoice.training.belief import fit, tables
from fieldvoice.training.belief.lines import CLIPPED, Line, evidence, on_a_job, under
from fieldvoice.training.evaluate.samples import Sample
from fieldvoice.training.evaluate.scoring import Result, judged

SAID = ("fifty microns", "fifteen microns")


def line(place: int, share: float, right: bool, above_db: float = 40.0) -> Line:
    """A line torn between two readings; `share`: of the likelier one."""
    heard, other = SAID if right else SAID[::-1]
    ways = ((heard, share), (other, 1.0 - share))
    result = Result(tuple(SAID[0].split()), tuple(heard.split()), (share, 1.0), 2.0, 0.1, ways,
                    above_db)  # fmt: skip
    return Line("joe", "clean", place, result, talk=False)


def drawn(lines: int) -> list[Line]:
    """Lines that are right in quiet, and often wrong in noise."""
    rng = random.Random(3)
    found = []
    for place in range(lines):
        share, above_db = rng.uniform(0.5, 0.999), rng.choice([0.0, 40.0])
        wrong = (1.0 - share) * (1.6 if above_db == 0.0 else 0.4)
        found.append(line(place, share, rng.random() > wrong, above_db))
    return found


@pytest.fixture(scope="module")
def lines() -> list[Line]:
    return drawn(1_500)


def test_what_is_fitted_tells_quiet_lines_from_noisy_ones(lines: list[Line]) -> None:
    model = fit.fitted(lines)
    assert set(model.weights) == set(NAMES)
    assert model.weights["margin"] > 0.0
    assert model.weights["noise"] + model.weights["loud_noise"] < 0.0
    sure = [fit.judge(line(0, 0.9, True, db), model).confidence for db in (0.0, 40.0)]
    assert sure[0] < sure[1]


def test_confidence_is_what_turned_out(lines: list[Line]) -> None:
    verdicts = fit.left_out(lines)
    mean = sum(v.confidence for v in verdicts) / len(verdicts)
    right = sum(v.same_meaning for v in verdicts) / len(verdicts)
    assert mean == pytest.approx(right, abs=0.06)  # never above one half without a margin


def test_a_line_is_judged_by_a_fit_without_its_sentence() -> None:
    """The same sentence under all conditions is one: else it would vouch for itself."""
    lines = [line(place, 0.9, right=place % fit.FOLDS != 0) for place in range(200)]
    verdicts = fit.left_out(lines)
    wrong = [v for v in verdicts if not v.same_meaning]
    assert wrong
    with_them = fit.fitted(lines)
    assert min(v.confidence for v in wrong) > fit.judge(lines[0], with_them).confidence + 0.1


def test_on_a_job_most_lines_are_waited_for(lines: list[Line]) -> None:
    some = on_a_job(lines[:100])
    waited = sum(one.expected(judged(one.result).said) for one in some)
    assert waited >= 75
    assert evidence(some[1]) is not None


def test_nothing_heard_is_no_evidence() -> None:
    silent = Line("joe", "clean", 0, Result(("next",), (), (), 1.0, 0.1), talk=False)
    assert evidence(silent) is None


def test_overdriven_sound_is_cut_off() -> None:
    tone = (8_000 * np.sin(np.arange(16_000) / 5)).astype(np.int16)
    clean = [Sample(tone, ("next",), "none")] * 3
    parts = [np.mean(np.abs(one.sound.astype(int)) >= 32_767) for one in under(CLIPPED, clean)]
    assert 0.1 < parts[0] < parts[1] < parts[2]
    assert clean[0].sound is tone


def test_a_range_that_is_asked_about_is_no_needless_question() -> None:
    ways = (("four to five hundred", 1.0),)
    said = tuple(ways[0][0].split())
    verdict = judged(Result(said, said, (1.0,) * len(said), 2.0, 0.1, ways))
    assert verdict.asked
    assert not tables.needless(verdict)
    doubted = judged(line(0, 0.5, True).result)
    assert doubted.decision is Decision.ASK
    assert tables.needless(doubted)


def test_the_tables_have_a_row_for_each_condition(lines: list[Line]) -> None:
    verdicts = [fit.judge(one, None) for one in lines]
    told = tables.by_condition(lines, verdicts, "quiet and loud")
    assert f"| joe, clean | {len(lines)} |" in told
    assert "least cost: accept from" in tables.thresholds(lines, verdicts, 0.97)
    assert "surprise" in tables.reliability_of(lines, verdicts)


def test_no_shards_are_named(tmp_path: Path) -> None:
    from fieldvoice.training.belief.lines import heard

    (tmp_path / "model").mkdir()
    with pytest.raises(FileNotFoundError, match="no shards below"):
        heard(tmp_path, tmp_path / "model", None)
