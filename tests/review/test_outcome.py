"""The sentence at the top says what the log does, and no more."""

import pytest

from fieldvoice.jobstate import events as e
from fieldvoice.review.logged_job import read_job
from fieldvoice.review.report.outcome import Outcome, outcome
from fieldvoice.review.wording import Context
from support.outcome_jobs import LEVELS, begin, hold, job_of
from support.review_job import PROCEDURE


def told(entries) -> Outcome:
    return outcome(Context(read_job(entries, PROCEDURE), None, None))


SENTENCES = [
    ("tight", "The pipework held the vacuum; this test found no leak.", "good"),
    ("wet", "The vacuum did not hold: it rose and levelled off, as it does when moisture is left "
            "in the pipework.", "bad"),
    ("leaking", "The pipework did not hold the vacuum: there is a leak.", "bad"),
    ("not-yet-clear", "It is not yet clear whether the pipework holds a vacuum.", "open"),
    ("mended", "The pipework held the vacuum; this test found no leak (an earlier test had found a "
               "leak).", "good"),
    ("practice", "This was practice, nothing was measured at a unit: the pipework held the "
                 "vacuum; this test found no leak (an earlier test had found a leak).", "good"),
    ("stopped", "The work was stopped before its end; no test of the pipework has a result.",
     "open"),
    ("open", "The work is not finished; no test of the pipework has a result.", "open"),
]


@pytest.mark.parametrize(("name", "sentence", "tone"), SENTENCES)
def test_each_outcome_has_its_own_sentence(name, sentence, tone):
    assert told(job_of(name)) == Outcome(sentence, tone)


def test_a_verdict_taken_back_is_no_result():
    book = begin()
    given = hold(book, LEVELS["tight"])
    book.add(e.Withdrawn(given, book.heard("take that back")))
    assert "no test of the pipework has a result" in told(book.entries).sentence


def test_a_test_begun_after_a_tight_one_is_named():
    book = begin()
    hold(book, LEVELS["tight"])
    book.open("evacuation", "isolate-and-hold", 2)
    book.add(e.TimerStarted("hold", 600, book.at.isoformat(), True, book.heard("start the hold")))
    found = told(book.entries)
    assert "a later test was begun and has no result" in found.sentence
    assert found.tone == "open"


def test_a_test_carried_over_is_not_one_held_here():
    book = begin()
    book.add(e.TestCarried("nitrogen", "passed", "2026-05-11", "Lee Park"))
    book.add(e.JobFinished("handed-over"))
    assert told(book.entries) == Outcome(
        "A pressure test of 11 May 2026 by Lee Park was taken over, it was not measured here.",
        "open")


@pytest.mark.parametrize(("masses", "words"), [
    ((8, 2.2), "10.2 oz of refrigerant was added"), ((-3,), "3 oz of refrigerant was taken out"),
])  # fmt: skip
def test_the_charge_is_the_sum_of_what_went_in_and_out(masses, words):
    book = begin()
    for ounces in masses:
        book.read("charge-added", str(ounces), "oz", "ounces")
    assert words in told(book.entries).sentence


def test_a_site_in_celsius_weighs_in_kilograms():
    book = begin(**{"temperature-unit": "degC"})
    book.read("charge-added", "200", "g", "two hundred grams")
    entries = book.entries
    assert "0.2 kg of refrigerant was added" in outcome(
        Context(read_job(entries, PROCEDURE), None, None, "metric")).sentence
