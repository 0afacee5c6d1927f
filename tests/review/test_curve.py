"""The vacuum curve shows readings, holds, limits and verdicts where they belong."""

import re
import xml.etree.ElementTree as ET
from datetime import timedelta

import pytest

from fieldvoice.jobstate import events as e
from fieldvoice.quantity.constants import from_microns
from fieldvoice.review.curve import curve_svg
from fieldvoice.review.text_curve import text_curve
from fieldvoice.review.vacuum import level_ticks, time_ticks, vacuum_curve
from support.review_job import Book, started, state_of, whole_job

SVG = "{http://www.w3.org/2000/svg}"


def drawn(svg: str, tag: str, css: str) -> list[ET.Element]:
    return [el for el in ET.fromstring(svg).iter(SVG + tag) if el.get("class") == css]


def pull_down(*levels: float, every_min: float = 5.0) -> Book:
    book = Book()
    book.add(started())
    book.open("evacuation", "pull-down")
    for level in levels:
        book.read("vacuum", str(level), "microns", str(level), after=every_min * 60)
    return book


def test_the_drawing_is_well_formed_and_needs_nothing_else():
    svg = curve_svg(state_of(whole_job()))
    ET.fromstring(svg)
    assert "http" not in svg.replace('xmlns="http://www.w3.org/2000/svg"', "")


def test_a_job_without_vacuum_has_no_curve():
    book = Book()
    book.add(started())
    assert curve_svg(state_of(book.entries)) == ""
    assert vacuum_curve(state_of(book.entries)) is None
    assert text_curve(state_of(book.entries)) == "No vacuum has been read yet."


def test_readings_that_count_are_joined_in_order_and_struck_ones_stand_apart():
    curve = vacuum_curve(state_of(whole_job()))
    assert [round(p.microns) for p in curve.points] == [5000, 412, 310, 320, 330, 338, 355, 366]
    assert [round(p.microns) for p in curve.struck] == [4120, 37]
    svg = curve_svg(state_of(whole_job()))
    assert len(drawn(svg, "circle", "dot")) == 8
    assert len(drawn(svg, "circle", "struck")) == 2
    assert [t.text for t in drawn(svg, "text", "struck-text")] == ["4,120", "37"]


def test_a_corrected_reading_stays_at_the_time_it_was_taken():
    curve = vacuum_curve(state_of(whole_job()))
    assert curve.struck[0].minute == curve.points[1].minute


def test_the_level_falls_a_decade_by_equal_heights():
    svg = curve_svg(state_of(pull_down(10_000, 1_000, 100).entries))
    y = [float(dot.get("cy")) for dot in drawn(svg, "circle", "dot")]
    assert y[1] - y[0] == pytest.approx(y[2] - y[1], abs=0.11)
    x = [float(dot.get("cx")) for dot in drawn(svg, "circle", "dot")]
    assert x[1] - x[0] == pytest.approx(x[2] - x[1], abs=0.11)


def test_the_hold_is_shaded_as_long_as_it_lasted_and_names_its_verdict():
    curve = vacuum_curve(state_of(whole_job()))
    (hold,) = curve.holds
    assert hold.end - hold.start == pytest.approx(10, abs=0.1)
    assert hold.verdict == "tight"
    svg = curve_svg(state_of(whole_job()))
    assert len(drawn(svg, "rect", "hold")) == 1
    assert [t.text for t in drawn(svg, "text", "verdict")] == ["hold 10 min: tight"]


def test_a_hold_that_still_runs_ends_with_the_log():
    book = pull_down(300)
    book.open("evacuation", "isolate-and-hold")
    due = (book.at + timedelta(minutes=10)).isoformat()
    book.add(e.TimerStarted("hold", 600, due, True))
    began = book.at
    book.read("vacuum", "310", "microns", "three ten", after=120, hold="isolate-and-hold")
    (hold,) = vacuum_curve(state_of(book.entries)).holds
    assert hold.end - hold.start == pytest.approx((book.at - began).total_seconds() / 60)
    assert "no verdict" in curve_svg(state_of(book.entries))


def test_each_hold_keeps_its_own_verdict():
    book = pull_down(300)
    for visit, verdict in ((1, "wet"), (2, "tight")):
        book.open("evacuation", "isolate-and-hold", visit)
        book.add(e.TimerStarted("hold", 60, (book.at + timedelta(minutes=1)).isoformat(), True))
        book.read("vacuum", "310", "microns", "x", after=30, hold="isolate-and-hold")
        book.add(e.TimerFinished("hold"), 30)
        book.add(e.VerdictGiven("decay", verdict, {}, "isolate-and-hold"), 5)
    assert [h.verdict for h in vacuum_curve(state_of(book.entries)).holds] == ["wet", "tight"]


def test_a_nitrogen_hold_is_no_hold_of_the_curve():
    book = Book()
    book.add(started())
    book.open("tightness", "bubble-test")
    book.add(e.TimerStarted("hold", 600, book.at.isoformat(), True))
    book.add(e.TimerFinished("hold"), 600)
    book.open("evacuation", "pull-down")
    book.read("vacuum", "900", "microns", "nine hundred")
    assert vacuum_curve(state_of(book.entries)).holds == ()


def test_limits_are_drawn_once_at_their_level():
    limits = [("target 400 microns", from_microns(400)), ("again", from_microns(400))]
    svg = curve_svg(state_of(whole_job()), limits)
    assert [t.text for t in drawn(svg, "text", "limit-text")] == [
        "target 400 microns", "limit 500 microns",
    ]  # fmt: skip
    target, judged = drawn(svg, "line", "limit")
    assert float(target.get("y1")) > float(judged.get("y1"))  # lower pressure, lower down


def test_a_limit_is_labelled_where_no_reading_stands():
    svg = curve_svg(state_of(pull_down(3000, 400).entries), [("high", from_microns(2800)),
                                                   ("low", from_microns(350))])
    ends = {t.text: t.get("text-anchor") for t in drawn(svg, "text", "limit-text")}
    assert ends == {"high": "middle", "low": "start"}


def test_a_nitrogen_sweep_breaks_the_line():
    book = pull_down(5000, 1500)
    book.read("nitrogen-pressure", "2", "psig", "two")
    book.read("vacuum", "4000", "microns", "four thousand", after=600)
    assert len(drawn(curve_svg(state_of(book.entries)), "polyline", "curve")) == 2


@pytest.mark.parametrize(
    ("low", "high", "ticks"),
    [(20, 500, [20, 50, 100, 200, 500]), (1, 1_000_000, [10.0**n for n in range(7)])],
)
def test_levels_are_marked_at_round_figures(low, high, ticks):
    assert level_ticks(low, high) == pytest.approx(ticks)


def test_times_are_marked_at_round_clock_times():
    book = pull_down(5000, 900, 500, every_min=25)
    ticks = time_ticks(vacuum_curve(state_of(book.entries)), 6)
    assert [clock for _, clock in ticks] == ["14:30", "14:40", "14:50", "15:00", "15:10"]


def test_a_single_reading_and_equal_readings_can_be_drawn():
    for levels in ((500,), (500, 500, 500)):
        entries = pull_down(*levels).entries
        ET.fromstring(curve_svg(state_of(entries)))
        assert text_curve(state_of(entries)).count("o") >= 1


def test_labels_do_not_lie_on_each_other():
    book = pull_down(*range(400, 412), every_min=0.2)
    book.read("vacuum", "405", "microns", "four oh five", after=1800)  # squeezes the others
    svg = curve_svg(state_of(book.entries))
    labels = [
        (float(t.get("x")), float(t.get("y"))) for t in drawn(svg, "text", "")
        if t.get("text-anchor") == "middle" and re.fullmatch(r"4\d\d", t.text)
    ]
    assert 1 < len(labels) < 13
    for i, (x, y) in enumerate(labels):
        assert all(abs(x - a) > 20 or abs(y - b) > 10 for a, b in labels[:i])


# --- in characters ------------------------------------------------------------------------------


@pytest.mark.parametrize(("width", "height"), [(72, 18), (40, 8), (120, 40)])
def test_the_text_curve_keeps_to_its_size(width, height):
    lines = text_curve(state_of(whole_job()), width, height).split("\n")
    assert len(lines) == height
    assert max(map(len, lines)) <= max(width, 66)  # the legend has its own length
    assert max(map(len, lines[:-1])) <= width


def test_the_text_curve_marks_readings_struck_ones_holds_and_limits():
    text = text_curve(state_of(whole_job()), 72, 20)
    assert "hold 10 min: tight" in text
    assert "limit 500 microns" in text
    state = "\n".join(text.split("\n")[1:-3])
    assert 4 <= state.count("o") <= 8  # readings of one cell share a mark
    assert state.count("x") == 2
    assert ":" in state
    assert re.search(r"^ +500 \|.*---", state, re.MULTILINE)


def test_the_text_curve_falls_from_upper_left_to_lower_right():
    rows = text_curve(state_of(pull_down(10_000, 1_000, 100).entries), 60, 20).split("\n")[1:-3]
    places = [(n, row.index("o")) for n, row in enumerate(rows) if "o" in row]
    assert len(places) == 3
    assert places == sorted(places)
    assert places[0][1] < places[1][1] < places[2][1]


def test_a_text_curve_too_small_to_read_is_refused():
    with pytest.raises(ValueError, match="at least 40 by 8"):
        text_curve(state_of(whole_job()), 30, 8)
