"""What was put right, written down or remarked after the work stands where it belongs."""

from datetime import timedelta

import pytest

from fieldvoice.jobstate import events as e
from fieldvoice.review.report import out_of_turn
from fieldvoice.review.report.lists import Row
from support.outcome_jobs import begin
from support.review_job import page_of


def reviewed():
    book = begin()
    (taken,) = [entry.seq for entry in book.entries if isinstance(entry.event, e.ReadingTaken)]
    line = book.heard("[unk]", outcome="noted", clip="clips/note.wav")
    book.add(e.NoteTaken("", ["clips/note.wav"], line))
    book.add(e.ReadingAmended(taken, "301", "microns", 40.13, "Pa", "Bo <b>", "gauge photo", True))
    book.add(e.NoteTranscribed(line, "flare nut loose", "by-hand", "Bo"))
    book.add(e.Remarked("ask Sam", "Ann", line))
    book.add(e.Remarked("a tidy job", "Ann"))
    book.add(e.LineReviewed(line, False, "Bo", "muffled", "flare nut"))
    return book.entries


def part(page, begin, end):
    return page[page.index(begin):].partition(end)[0]


@pytest.mark.parametrize("version", ["office", "inspector"])
def test_an_amended_value_says_what_it_was_who_put_it_right_and_why(version):
    work = part(page_of(reviewed(), version=version), "<h2>What was done</h2>", "</section>")
    assert "<s>310 microns</s>" in work
    assert "<b>301 microns</b>" in work
    assert "was 310 microns; amended by Bo &lt;b&gt; at review, " in work
    assert ": gauge photo" in work


def test_the_corrections_name_the_reviewer():
    found = part(page_of(reviewed()), "<h2>Corrections</h2>", "</section>")
    assert "amended by Bo &lt;b&gt; at review" in found


def test_what_was_written_down_remarked_and_judged_of_a_note_stands_with_it():
    notes = part(page_of(reviewed()), "<h2>Notes</h2>", "</section>")
    assert "“flare nut loose”, written down by hand by Bo" in notes
    assert "remark by Ann: ask Sam" in notes
    assert "marked wrong by Bo, really “flare nut”: muffled" in notes
    assert "a tidy job" not in notes


@pytest.mark.parametrize("version", ["customer", "office", "inspector"])
def test_a_remark_on_the_whole_job_and_a_mended_log_are_told_in_every_version(version):
    book = begin()
    book.add(e.LogMended(["line 4 was changed"], [4], 100, "0" * 64))
    book.add(e.Remarked("a tidy job", "Ann"))
    added = part(page_of(book.entries, version=version), "<h2>Added after the work</h2>",
                 "</section>")
    assert "remark by Ann: a tidy job" in added
    assert "line 4 was changed" in added
    assert "line 4 does not count" in added


def test_a_customer_reads_steps_left_open_for_one_reason_in_one_row(monkeypatch):
    rows = [Row(("08:29:45", "Air", "protective", "done by others"), None),
            Row(("08:29:45", "Hoses", "", "jumped over"), None),
            Row(("08:29:45", "Detector", "protective", "done by others"), None)]
    monkeypatch.setattr(out_of_turn, "left_open", lambda context: rows)
    page = page_of(begin().entries, version="customer")
    customer = part(page, "<h2>Left open</h2>", "</section>")
    assert customer.count("<tr>") == 3  # heads, and two reasons
    assert "Air; Detector" in customer
    assert "Said" not in customer
    office = part(page_of(begin().entries, version="office"), "<h2>Left open</h2>", "</section>")
    assert office.count("<tr>") == 4


@pytest.mark.parametrize("version", ["customer", "office", "inspector"])
def test_a_job_heard_from_a_recording_says_so_at_its_top(version):
    page = page_of(begin(e.RECORDING).entries, version=version)
    assert "Heard afterwards from a sound recording" in part(page, "<body", "<main")
    assert "job record" in part(page, "<title>", "</title>")


@pytest.mark.parametrize("mode", [e.WORK, e.RECORDING])
def test_a_timer_that_nothing_ended_ran_as_far_as_the_record_goes(mode):
    book = begin(mode)
    book.add(e.TimerStarted("pump oil", 600.0, (book.at + timedelta(minutes=10)).isoformat()))
    timers = part(page_of(book.entries), "<h2>Holds and timers</h2>", "</section>")
    assert "running where the record ends" in timers
