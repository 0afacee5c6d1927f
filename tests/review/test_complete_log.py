"""The complete log of a report: every event once under its number, times and days not repeated."""

import re
from datetime import timedelta

from fieldvoice.jobstate import events as e
from fieldvoice.review.logged_job import read_job
from fieldvoice.review.report.complete import complete
from fieldvoice.review.wording import Context
from support.review_job import PROCEDURE, page_of, whole_job


def paragraphs(entries):
    context = Context(read_job(entries, PROCEDURE), "", None)
    return list(complete(context, entries, "unit one"))


def test_every_event_stands_in_it_once_and_in_order():
    entries = whole_job()
    told = [number for it in paragraphs(entries) for number, _ in it.events]
    assert told == [entry.seq for entry in entries]


def test_what_a_line_led_to_stands_behind_it_under_one_time():
    entries = whole_job()
    for it in paragraphs(entries):
        heard = [n for n, _ in it.events if isinstance(entries[n - 1].event, e.LineHeard)]
        assert heard in ([], [it.events[0][0]])
        assert {f"{entries[n - 1].at:%H:%M:%S}" for n, _ in it.events} == {it.time}
    assert len(paragraphs(entries)) < len(entries)


def test_a_day_is_named_once_where_it_begins():
    first = whole_job()
    night = timedelta(days=1)
    later = [entry if place < 10 else type(entry)(entry.seq, entry.at + night, entry.event)
             for place, entry in enumerate(first)]
    assert [it.day for it in paragraphs(later) if it.day] == ["14 May 2026", "15 May 2026"]
    assert len([it for it in paragraphs(first) if it.day]) == 1


def test_the_inspectors_page_has_it_whole():
    page = page_of(whole_job(), version="inspector")
    log = page[page.index('<div class="log">'):]
    numbers = [int(n) for n in re.findall(r'<span class="no">(\d+)</span>', log)]
    assert numbers == [entry.seq for entry in whole_job()]
