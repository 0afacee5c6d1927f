"""What an inspector is shown of the computer's clock: set, restarted, right or wrong."""

from __future__ import annotations

from fieldvoice.jobstate import events as e
from support.review_job import Book, page_of, started

BEFORE, AFTER = "2026-05-14T14:05:00+00:00", "2026-05-14T15:05:00+00:00"


def _head(page: str) -> str:
    return page[page.index("<header>"):page.index("</header>")]


def _book() -> Book:
    book = Book()
    book.add(started())
    book.open("evacuation", "isolate-and-hold")
    book.add(e.TimerStarted("hold", 600, "2026-05-14T14:20:00+00:00", True))
    return book


def test_a_clock_that_was_set_stands_in_the_head_of_the_report() -> None:
    book = _book()
    book.add(e.ClockJumped(3600.0, BEFORE, AFTER), 30)
    head = _head(page_of(book.entries))
    assert ("the computer&#39;s clock was set forward 1 hour, from 2026-05-14 14:05:00 to "
            "2026-05-14 15:05:00; times here go on unchanged") in head


def test_a_hold_that_nobody_timed_is_no_hold_that_was_cut_short() -> None:
    book = _book()
    book.add(e.Restarted(AFTER, False, {"the hold": 900.0}), 900)
    book.add(e.ClockJudged(False, book.heard("no")))
    book.add(e.TimerStopped("hold", reason="the computer was restarted and its clock was wrong",
                            untimed=True))
    page = page_of(book.entries)
    assert "the computer had been restarted; its clock showed 2026-05-14 15:05:00" in _head(page)
    assert "clock was said to be wrong" in _head(page)
    assert "not timed: the computer was restarted and its clock was wrong" in page
    assert "cut short" not in page


def test_a_clock_behind_the_log_was_seen_to_be_wrong() -> None:
    book = _book()
    book.add(e.Restarted(BEFORE, True, {"the hold": 0.0}))
    book.add(e.ClockJudged(False))
    head = _head(page_of(book.entries))
    assert "earlier than the line before: it was wrong" in head
    assert "clock was seen to be wrong" in head


def test_a_job_whose_clock_was_left_alone_says_nothing_of_it() -> None:
    assert "Clock" not in _head(page_of(_book().entries))


def test_times_that_are_none_are_shown_as_they_stand() -> None:
    book = _book()
    book.add(e.ClockJumped(-60.0, "<b>then</b>", "now"))
    page = page_of(book.entries)
    assert "set back 1 minute, from &lt;b&gt;then&lt;/b&gt; to now" in page
