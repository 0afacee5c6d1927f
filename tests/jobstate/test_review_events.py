"""A review is a part of the log: it changes what counts, and is no work on the job."""

from datetime import timedelta

import pytest

from fieldvoice.devices.joblog import JobLog, read_log
from fieldvoice.jobstate import events as e
from fieldvoice.jobstate.records import LineReview, Remark, Transcript
from fieldvoice.review.event_words import describe
from fieldvoice.review.job_standing import job_standing
from support.review_job import PROCEDURE, Book, page_of, started, state_of

DAYS = 20 * 86_400


def reviewed():
    book = Book()
    book.add(started())
    book.open("evacuation", "pull-down")
    seq = book.read("vacuum", "4120", "microns", "forty one twenty", within=False)
    book.add(e.JobFinished("handed-over"))
    end = book.at
    book.add(e.ReadingAmended(seq, "412", "microns", 54.93, "Pa", "Ann", "misread", True), DAYS)
    book.add(e.LineReviewed(seq - 1, False, "Ann", "noise", "four twelve"))
    book.add(e.Remarked("look again", "Ann", seq))
    book.add(e.NoteTranscribed(seq - 1, "four twelve", "by-hand", "Ann"))
    return book, seq, end


def test_an_amended_value_counts_and_the_old_one_stays_in_the_history():
    book, seq, _ = reviewed()
    reading = state_of(book.entries).last("vacuum")
    assert reading is not None
    assert [v.said for v in reading.values] == ["4120", "412"]
    now = reading.now
    assert (now.reviewer, now.reason, now.within) == ("Ann", "misread", True)
    assert reading.seq == seq


def test_marks_remarks_and_words_are_records_of_the_history():
    book, seq, _ = reviewed()
    history, at = state_of(book.entries).history, book.entries
    assert history.reviews == (LineReview(7, at[6].at, seq - 1, False, "Ann", "noise",
                                          "four twelve"),)
    assert history.remarks == (Remark(8, at[7].at, seq, "look again", "Ann"),)
    assert history.transcripts == (Transcript(9, at[8].at, seq - 1, "four twelve", "by-hand",
                                              "Ann"),)


def test_a_review_weeks_later_neither_reopens_a_job_nor_adds_to_its_time():
    book, _, end = reviewed()
    state = state_of(book.entries)
    assert state.finished
    assert state.last_at == end
    assert job_standing(book.entries, book.at).last_at == end
    assert "14:02 to 14:02" in page_of(book.entries)


def test_what_was_taken_back_can_still_be_put_back_after_a_review():
    book = Book()
    book.add(started())
    book.open("evacuation", "pull-down")
    seq = book.read("vacuum", "4120", "microns", "x")
    book.add(e.Withdrawn(seq, book.heard("take that back")))
    undone = state_of(book.entries).undone
    book.add(e.Remarked("hm", "Ann"))
    assert undone is not None
    assert state_of(book.entries).undone == undone


@pytest.mark.parametrize("place", range(4))
def test_every_review_is_told_with_its_reviewer_and_comes_back_from_the_log(place, tmp_path):
    book, *_ = reviewed()
    event = book.entries[5 + place].event
    assert "Ann" in describe(event)
    with JobLog.create(tmp_path / "job", PROCEDURE) as log:
        log.append(event, book.at + timedelta(days=1))
    assert read_log(tmp_path / "job").entries[0].event == event
