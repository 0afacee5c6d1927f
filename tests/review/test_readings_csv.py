"""The readings as CSV: every value that was logged, with what became of it."""

import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from fieldvoice.jobstate import events as e
from fieldvoice.language.parser import understand
from fieldvoice.review.readings_csv import COLUMNS, readings_csv
from support.bench import Bench
from support.every_sort import TEXT
from support.review_job import Book, started, state_of, whole_job


def rows(entries) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(readings_csv(state_of(entries)))))


def test_the_first_line_names_the_columns_and_lines_end_as_rfc_4180_says():
    text = readings_csv(state_of([]))
    assert text == ",".join(COLUMNS) + "\r\n"


def test_every_value_has_a_row_and_its_status():
    found = [(r["value"], r["status"]) for r in rows(whole_job())]
    assert found[:4] == [
        ("5000", "counts"), ("4120", "corrected"), ("412", "counts"), ("310", "counts"),
    ]  # fmt: skip
    assert ("37", "withdrawn") in found
    assert len(found) == 10


def test_a_correction_names_the_reading_it_replaced():
    wrong, right = rows(whole_job())[1:3]
    assert right["corrects"] == wrong["seq"]
    assert wrong["corrects"] == ""
    assert right["time"] > wrong["time"]


def test_a_row_tells_who_said_so_and_where_the_sound_is():
    row = rows(whole_job())[2]
    assert row["words"] == "correction four twelve"
    assert row["source"] == "voice"
    assert row["confidence"] == "0.930"
    assert row["clip"].startswith("clips/")
    assert row["step"] == "pull-down"
    typed = rows(whole_job())[3]
    assert (typed["source"], typed["confidence"], typed["clip"]) == ("typed", "", "")


def test_si_values_are_absolute_and_carry_their_unit():
    row = rows(whole_job())[2]
    # NIST SP 811 B.8: 1 micron of mercury = 1.333 224 E-01 Pa
    assert float(row["si_value"]) == pytest.approx(412 * 0.1333224, rel=1e-6)
    assert (row["unit"], row["si_unit"]) == ("microns", "Pa")


def test_two_units_are_one_number_of_the_unit_that_it_counts():
    bench = Bench(TEXT)
    bench.say(understand("refrigerant amount seven pounds two ounces"))
    row = next(csv.DictReader(io.StringIO(readings_csv(bench.state))))
    assert (row["value"], row["unit"]) == ("114", "oz")
    assert float(row["si_value"]) == pytest.approx(114 * 0.028349523125)


def test_hold_readings_carry_their_minute_and_limit():
    held = [r for r in rows(whole_job()) if r["hold"]]
    counted = [r["minute"] for r in held if r["status"] == "counts"]
    assert counted == ["0.000", "1.000", "2.000", "5.000", "10.000"]
    assert {r["within"] for r in held} == {"yes", ""}


@pytest.mark.parametrize("words", ["=1+1", "+5", "-5 psig", "@cmd", "\tx"])
def test_words_never_reach_a_spreadsheet_as_a_formula(words):
    book = Book()
    book.add(started())
    book.open("evacuation", "pull-down")
    book.read("vacuum", "412", "microns", words)
    assert rows(book.entries)[0]["words"] == "'" + words


def test_commas_quotes_and_line_breaks_survive():
    words = 'four "twelve", and\nmore'
    book = Book()
    book.add(started())
    book.open("evacuation", "pull-down")
    book.read("vacuum", "412", "microns", words)
    assert rows(book.entries)[0]["words"] == words


def test_a_withdrawn_correction_gives_the_first_value_back():
    book = Book()
    book.add(started())
    book.open("evacuation", "pull-down")
    first = book.read("vacuum", "412", "microns", "four twelve")
    second = book.correct(first, "420", "microns", "vacuum", "correction four twenty")
    from fieldvoice.jobstate import events as e

    book.add(e.Withdrawn(second, book.heard("take that back")))
    assert [(r["value"], r["status"]) for r in rows(book.entries)] == [
        ("412", "counts"), ("420", "withdrawn"),
    ]  # fmt: skip


def test_a_row_names_its_job_place_and_the_verdict_of_its_hold():
    found = rows(whole_job())
    assert {r["job"] for r in found} == {"Unit 12 <b>"}
    assert {r["procedure"] for r in found} == {"line-set"}
    assert {r["customer"] for r in found} == {"Miller & Daughter"}
    assert {r["verdict"] for r in found if r["hold"]} == {"tight"}
    assert {r["verdict"] for r in found if not r["hold"]} == {""}


def test_a_value_asked_back_over_its_plate_or_unfit_says_so():
    book = Book()
    book.add(started())
    book.open("evacuation", "pull-down")
    line = book.heard("four twelve", outcome="asked-back")
    book.add(e.ReadingTaken("vacuum", "412", "microns", 54.9, "Pa", "pull-down", line,
                            over_plate="=1+1", unfit="gauge too coarse"))
    (row,) = rows(book.entries)
    assert (row["asked_back"], row["over_plate"], row["unfit"]) == (
        "yes", "'=1+1", "gauge too coarse")


@given(st.text(max_size=12))
def test_no_cell_of_any_column_is_a_formula(words):
    book = Book()
    book.add(replace(started(site={"place": words, "customer": words}), job=words, procedure=words))
    line = book.heard(words, clip=words)
    book.add(e.ReadingTaken(words, "-5", words, 1.0, words, words, line, hold=words))
    (row,) = rows(book.entries)
    assert row["value"] == "-5"  # a number stays one
    for name, cell in row.items():
        assert not cell.startswith(("=", "+", "@", "\t", "\r")), name
        assert not cell.startswith("-") or float(cell) < 1, name
