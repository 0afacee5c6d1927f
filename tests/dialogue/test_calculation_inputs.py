"""The volume behind a job's leak rate: as read, or that of the tubes, or not known."""

from __future__ import annotations

import pytest

from fieldvoice.dialogue.calculation_inputs import system_volume
from fieldvoice.jobstate import events as e
from support.bench import Bench
from support.every_sort import LEAKING, at, run_hold
from support.every_sort import TEXT as STEPS
from support.small_procedure import TEXT

SITE = {"liquid-line": "3/8", "suction-line": "3/4"}


def bench_with(site: dict[str, str], *readings: tuple[float, str, str]) -> Bench:
    bench = Bench(TEXT, site)
    for value, unit, quantity in readings:
        bench.read(value, unit, quantity)
    return bench


def test_a_line_set_of_known_size_and_length_gives_the_volume() -> None:
    volume, what = system_volume(bench_with(SITE, (25, "ft", "line-length")).state)
    # ASTM B280 bores .311 and .680 in, 25 ft: 2.16 L
    assert volume == pytest.approx(2.16e-3, rel=0.003)
    assert what is not None
    assert "no coils" in what


def test_a_volume_read_goes_before_that_of_the_tubes() -> None:
    bench = bench_with(SITE, (25, "ft", "line-length"), (5, "L", "system-volume"))
    assert system_volume(bench.state) == (pytest.approx(5e-3), "the system, as read")


@pytest.mark.parametrize(
    ("site", "length"), [({}, True), (SITE, False)], ids=["no sizes", "no length"]
)
def test_without_sizes_or_length_no_volume_is_made_up(site: dict[str, str], length: bool) -> None:
    readings = ((25.0, "ft", "line-length"),) if length else ()
    assert system_volume(bench_with(site, *readings).state) == (None, None)


def test_an_unknown_size_is_named_and_gives_no_volume() -> None:
    bench = bench_with({"liquid-line": "9/16"}, (25, "ft", "line-length"))
    volume, what = system_volume(bench.state)
    assert volume is None
    assert what is not None
    assert "'9/16' is not known" in what


def test_both_lines_of_one_size_count_twice() -> None:
    one = bench_with({"liquid-line": "3/8"}, (25, "ft", "line-length"))
    two = bench_with({"liquid-line": "3/8", "suction-line": "3/8"}, (25, "ft", "line-length"))
    single, double = system_volume(one.state)[0], system_volume(two.state)[0]
    assert single is not None
    assert double == pytest.approx(2 * single)


def test_the_verdict_of_a_leaking_job_has_a_leak_rate_for_its_line_set() -> None:
    bench = at(Bench(STEPS, SITE), "stand")
    bench.read(25, "ft", "line-length")
    run_hold(bench, LEAKING, 3450)
    figures = bench.events(e.VerdictGiven)[-1].figures
    # 300 microns a minute in 2.16 L, less what equalising may explain
    expected = 300 * 0.1333224 / 60 * 2.16e-3
    assert figures["verdict"] == "leaking"
    assert figures["leak_rate_pa_m3_per_s"] == pytest.approx(expected, rel=0.1)
    assert "no coils" in figures["volume_of"]
