"""A dial is no micron gauge: its readings are kept and do not count."""

from __future__ import annotations

from decimal import Decimal

import pytest

from fieldvoice.jobstate import events as e
from fieldvoice.language import intents as i
from fieldvoice.review.logged_job import read_job
from fieldvoice.review.report import report_html
from support.bench import Bench
from support.every_sort import MINUTES, TEXT, at

# An inch of mercury is 25,400 microns (NIST SP 811): a hundredth of it is 254.
WHY = ("Its last digit is worth 254 microns; the limit is 500 microns. "
       "Read an electronic vacuum gauge.")


def test_a_dial_read_five_times_gives_no_verdict_and_releases_nothing() -> None:
    bench = at(Bench(TEXT), "stand")
    bench.say(i.StartHold())
    for minute in MINUTES:
        bench.wait(minutes=minute and 1)
        assert "29.91 inHg vacuum is noted, but does not count." in bench.read("29.91", "inches")
    bench.wait(minutes=10)
    assert WHY in bench.read("29.91", "inches")
    assert bench.state.step == "stand"
    assert bench.events(e.VerdictGiven) == []
    dials = [t for t in bench.state.readings if t.now.unfit]
    assert len(dials) == len(MINUTES) + 1  # all of them are in the log
    assert bench.state.hold_readings() == []
    assert bench.wait(minutes=2) == "The hold is over. I still need the vacuum."


def test_beside_good_readings_it_changes_nothing() -> None:
    bench = at(Bench(TEXT), "stand")
    bench.say(i.StartHold())
    bench.read("29.91", "inches")
    bench.wait(minutes=1)
    bench.read(450, "microns")
    assert [t.now.said for t in bench.state.hold_readings()] == ["450"]


@pytest.mark.parametrize(("said", "unit"), [("0.4", "torr"), ("0.5", "mbar"), ("450", "microns")])
def test_a_tenth_of_a_torr_just_carries_500_microns(said: str, unit: str) -> None:
    bench = at(Bench(TEXT), "pull")
    assert "does not count" not in bench.read(said, unit)
    assert bench.state.step == "stand"


@pytest.mark.parametrize(("said", "unit"), [("29.91", "inches"), ("29.9", "inHg")])
def test_nor_does_it_meet_a_vacuum_that_a_step_waits_for(said: str, unit: str) -> None:
    bench = at(Bench(TEXT), "pull")
    assert "does not count" in bench.read(said, unit)
    taken = bench.events(e.ReadingTaken)[-1]
    assert (taken.within, taken.unfit is not None) == (False, True)
    assert bench.state.step == "pull"


def test_a_dial_that_is_plainly_above_the_limit_is_an_ordinary_miss() -> None:
    bench = at(Bench(TEXT), "pull")
    assert "That is above 500 microns." in bench.read("28.90", "inches")
    assert bench.events(e.ReadingTaken)[-1].unfit is None


def test_a_reading_changed_into_that_of_a_dial_does_not_count_any_more() -> None:
    bench = at(Bench(TEXT), "stand")
    bench.say(i.StartHold())
    bench.read(450, "microns")
    said = bench.say(i.ChangeReading("vacuum", Decimal("29.91"), "inches"))
    if bench.state.question is not None:
        said = bench.say(i.Yes())
    assert f"It does not count. {WHY}" in said
    assert bench.state.hold_readings() == []


def test_the_report_says_that_it_was_not_counted_and_why() -> None:
    bench = at(Bench(TEXT), "stand")
    bench.say(i.StartHold())
    bench.read("29.91", "inches")
    page = report_html(read_job(bench.log, TEXT))
    assert f"noted, not counted: {WHY}" in page
    assert "<dt>Deepest vacuum</dt><dd>450 microns</dd>" in page
