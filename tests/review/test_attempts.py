"""Every test stands in its order, with its own length, and with the breaks between."""

from datetime import timedelta

import pytest

from fieldvoice.jobstate import events as e
from fieldvoice.quantity.constants import from_psig, psig
from fieldvoice.review.logged_job import read_job
from fieldvoice.review.report.arithmetic import sums
from fieldvoice.review.report.attempts import moments
from fieldvoice.review.report.breaks import breaks
from fieldvoice.review.vacuum import Break, vacuum_curve
from fieldvoice.review.wording import Context
from fieldvoice.trade.charge.charge_trim import charge_trim
from fieldvoice.trade.nitrogen.tightness_test import judge_nitrogen
from support.outcome_jobs import LEVELS, begin, hold, job_of
from support.review_job import PROCEDURE, page_of, state_of


def context_of(entries, units="us") -> Context:
    return Context(read_job(entries, PROCEDURE), None, None, units, breaks(entries))


def test_a_first_hold_that_leaked_stands_before_the_one_that_was_tight():
    found = moments(context_of(job_of("mended")))
    assert [(m.kind, m.outcome) for m in found] == [
        ("hold", "Leaking"), ("break", ""), ("hold", "Tight")]
    assert "vacuum 290 microns at first, 3,310 microns at last" in found[0].facts
    assert found[1].what.startswith("Night")
    assert any("14 h" in fact for fact in found[1].facts)
    assert [m.day for m in found] == ["14 May 2026", "", "15 May 2026"]


def test_the_customer_sees_the_leak_too():
    page = page_of(job_of("mended"), version="customer")
    places = [page.index(w) for w in ("<b>Leaking</b>", "Night, or longer", "<b>Tight</b>")]
    assert places == sorted(places)


def interrupted() -> list:
    book = begin()
    book.open("evacuation", "isolate-and-hold")
    line = book.heard("start the hold")
    due = (book.at + timedelta(minutes=10, seconds=1)).isoformat()
    book.add(e.TimerStarted("hold", 600, due, True, line))
    book.read("vacuum", "260", "microns", "two sixty", hold="isolate-and-hold", minute=0.5)
    book.add(e.JobResumed("0.1.0"), 20 * 60)
    book.add(e.TimerFinished("hold"), 0.1)
    book.read("vacuum", "284", "microns", "two eighty four", hold="isolate-and-hold", minute=21.0)
    return book.entries


def test_a_ten_minute_timer_noticed_late_is_no_hold_of_twenty_one_minutes():
    entries = interrupted()
    (held, _) = moments(context_of(entries))
    assert held.facts[0] == "10 minutes, ran to its end"
    assert "nobody watched for 20 min" in held.facts
    assert any("after the timer's end" in fact for fact in held.facts)
    curve = vacuum_curve(state_of(entries), (), breaks(entries))
    assert curve.holds[0].words == "hold 10 min: no verdict"
    assert [p.run for p in curve.points] == [0, 0, 1]  # the line stops at the break


def test_a_hold_taken_back_stands_struck_and_one_stopped_says_when():
    book = begin()
    book.open("evacuation", "isolate-and-hold")
    due = (book.at + timedelta(minutes=10)).isoformat()
    begun = book.add(e.TimerStarted("hold", 600, due, True, book.heard("start the hold")))
    book.add(e.TimerStopped("hold", book.heard("stop"), "pump still on"), 120)
    (stopped,) = moments(context_of(book.entries))
    assert stopped.facts[0].startswith("10 minutes asked for; stopped after 2 minutes")
    assert stopped.outcome == "No result"
    book.add(e.Withdrawn(begun, book.heard("take that back")))
    (gone,) = moments(context_of(book.entries))
    assert gone.gone
    assert gone.outcome == "taken back"


def test_the_fitted_line_and_its_band_are_drawn_through_the_readings_of_a_hold():
    curve = vacuum_curve(state_of(job_of("tight")))
    fit = curve.holds[0].fit
    assert len(fit) > 10
    assert all(p.low <= p.middle <= p.high for p in fit)
    assert fit[-1].middle == pytest.approx(366, rel=0.03)
    page = page_of(job_of("tight"))
    assert page.count('class="band"') == page.count('class="fit"') == 2  # desk and phone


def test_a_review_in_a_break_does_not_shorten_it():
    book = begin()
    stopped = book.at
    book.add(e.Remarked("a tidy job", "Bo"), 3600)
    book.add(e.JobResumed("0.1.0"), 3600)
    assert breaks(book.entries) == (Break(stopped, book.at),)


def test_a_long_break_is_drawn_short_and_work_to_scale():
    entries = job_of("mended")
    curve = vacuum_curve(state_of(entries), (), breaks(entries))
    (night,) = curve.breaks
    axis = curve.axis
    assert axis.place(night[1]) - axis.place(night[0]) == pytest.approx(0.05)
    assert axis.place(curve.last) == pytest.approx(1)
    first, second = curve.holds
    assert axis.place(first.end) - axis.place(first.start) == pytest.approx(
        axis.place(second.end) - axis.place(second.start), abs=0.002)


def written(about: str, figures: dict, units: str = "us") -> str:
    book = begin()
    book.add(e.VerdictGiven(about, "passed", figures, "bubble-test"))
    (found,) = sums(context_of(book.entries, units))
    return " ".join(found.lines)


def test_the_arithmetic_of_nitrogen_is_that_of_the_trade():
    found = judge_nitrogen(from_psig(445), 297.04, from_psig(443), 295.93, 60)
    text = written("nitrogen", found.to_dict())
    assert f"= {psig(found.expected.real_pa):.1f} psig" in text
    assert f"{found.expected.ideal_pa / 6894.757:.2f} psia" in text
    assert f"a loss of {found.tolerance_pa / 6894.757:.1f} psi or more fails" in text
    assert f"{found.expected.real_pa / 1000:,.1f} kPa" in written(
        "nitrogen", found.to_dict(), "metric")


def test_the_arithmetic_of_the_charge_is_that_of_the_trade():
    ounce_a_foot = 0.028349523125 / 0.3048
    found = charge_trim("R-454B", "3/8", 32 * 0.3048, covered_m=15 * 0.3048,
                        adder_kg_per_m=0.6 * ounce_a_foot)
    text = written("charge", found.to_dict())
    assert "0.6 oz/ft * 32 ft = 19.2 oz" in text
    assert "19.2 oz - 9 oz = 10.2 oz, to add" in text
    assert found.change_oz == pytest.approx(10.2)


def test_figures_of_a_foreign_log_leave_the_arithmetic_out():
    book = begin()
    book.add(e.VerdictGiven("nitrogen", "passed", {"expected": "x"}, "bubble-test"))
    hold(book, LEVELS["tight"])
    assert [s.title for s in sums(context_of(book.entries))] == ["Standing vacuum: tight"]
