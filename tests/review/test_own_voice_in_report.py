"""Whose voice lines were heard with, where an inspector looks."""

from fieldvoice.jobstate import events as e
from support.review_job import Book, page_of, started


def test_it_stands_in_the_head_of_the_report_with_what_tells_the_file() -> None:
    book = Book()
    book.add(started())
    book.add(e.OwnVoiceUsed("dana", "abcdef0123456789" * 4, -0.4), 5)
    book.heard("next")
    page = page_of(book.entries)
    head = page[page.index("<header>"):page.index("</header>")]
    assert "14:02:06: lines are heard with the voice of dana from here" in head
    assert "file abcdef012345, asked more than others" in head


def test_a_record_without_one_says_nothing_of_it() -> None:
    book = Book()
    book.add(started())
    assert "Hearing" not in page_of(book.entries)
