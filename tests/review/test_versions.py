"""Customer, office and inspector each see theirs; what was asked back shows its first hearing."""

import re
from dataclasses import dataclass

import pytest
import segno

from fieldvoice.jobstate import events as e
from fieldvoice.quantity.unit_systems import beside
from fieldvoice.review.report import Integrity
from fieldvoice.review.report.attached import Shown
from fieldvoice.review.report.integrity import mark_svg, mark_text
from fieldvoice.review.report.versions import css_text
from support.outcome_jobs import begin, job_of
from support.review_job import page_of, whole_job

HEAD = "ab12" * 16


def asked_back() -> list:
    book = begin()
    first = book.heard("four twelve", confidence=0.88, outcome="asked-back", clip="clips/1.wav")
    asked = book.add(e.Asked(first, "confidence", {"intent": "reading"}))
    book.add(e.Said("412 microns? Say yes or no.", "question"))
    yes = book.heard("yes", confidence=0.99, clip="clips/2.wav")
    book.add(e.Answered(asked, "yes"))
    book.add(e.ReadingTaken("vacuum", "412", "microns", 54.9, "Pa", "pull-down", yes))
    return book.entries


@pytest.mark.parametrize("version", ["office", "inspector"])
def test_a_value_asked_back_shows_first_hearing_question_and_yes_both_playable(version):
    page = page_of(asked_back(), version=version)
    row = page[page.index("<q>four twelve</q>"):]
    row = row[:row.index("</tr>")]
    words = re.sub(r"<[^>]+>", " ", row)
    assert re.search(r"four twelve.*88% sure.*412 microns\? Say yes or no\..*yes.*99% sure",
                     words, re.DOTALL)
    assert row.index("clips/1.wav") < row.index("clips/2.wav")


def test_a_line_asked_twice_shows_both_questions_in_order():
    book = begin()
    first = book.heard("mumble", outcome="asked-back")
    asked = book.add(e.Asked(first, "confidence", {}))
    book.add(e.Said("Nine hundred?", "question"))
    second = book.heard("four twelve", outcome="asked-back")
    book.add(e.Answered(asked, "replaced"))
    again = book.add(e.Asked(second, "confidence", {}))
    book.add(e.Said("412?", "question"))
    yes = book.heard("yes")
    book.add(e.Answered(again, "yes"))
    book.add(e.ReadingTaken("vacuum", "412", "microns", 54.9, "Pa", "pull-down", yes))
    page = page_of(book.entries, version="office")
    places = [page.index(words, page.index("<q>mumble</q>")) for words in (
        "<q>mumble</q>", "Nine hundred?", "<q>four twelve</q>", "412?", "<q>yes</q>")]
    assert places == sorted(places)


def test_the_complete_log_is_the_offices_folded_the_inspectors_open_and_never_the_customers():
    pages = {v: page_of(whole_job(), version=v) for v in ("customer", "office", "inspector")}
    assert "How this was judged" not in pages["customer"]
    assert '<details class="judged" id="judged"><summary>' in pages["office"]
    assert '<details class="judged" id="judged" open>' in pages["inspector"]
    assert "Tight" in pages["customer"]
    assert "Technician, date" in pages["customer"]
    assert "open air" in pages["customer"].lower()
    assert "Local codes" in pages["customer"]


def test_every_anchor_of_the_contents_leads_somewhere():
    for version in ("customer", "office", "inspector"):
        page = page_of(whole_job(), version=version, photos=[Shown(None, "a.jpg", "", "")])
        for anchor in re.findall(r'href="#([^"]+)"', page):
            assert f'id="{anchor}"' in page


@dataclass
class Fault:
    where: str = "line 7"
    what: str = "was <changed>"
    what_to_do: str = "compare it with a copy"


def test_faults_of_the_log_stand_at_the_top():
    integrity = Integrity(False, "not as it was written", HEAD, [Fault(), "plain words"])
    for version in ("customer", "office", "inspector"):
        page = page_of(whole_job(), version=version, integrity=integrity)
        told = page.index("line 7: was &lt;changed&gt;; compare it with a copy")
        assert page.index("This record has faults") < told < page.index("<header>")
        assert "plain words" in page


def test_the_code_holds_job_lines_and_head_and_is_drawn_as_made():
    text = mark_text("Unit 12 <b>", 64, HEAD)
    page = page_of(job_of("tight"), integrity=Integrity(True, "intact", HEAD))
    lines = len(job_of("tight"))
    assert f"lines={lines} head={HEAD}" in page
    assert f"<b>{HEAD[:12]}</b>" in page
    drawn = re.search(r' d="([^"]+)"', mark_svg(text))[1]
    made = segno.make(text, error="m", micro=False)
    assert dark_modules(drawn) == {(x, y) for y, row in enumerate(made.matrix)
                                   for x, dark in enumerate(row) if dark}
    assert "<b>" not in mark_svg(text)


def dark_modules(path: str, border: int = 2) -> set[tuple[int, int]]:
    """Of segno's path: M and m move, h draws a row of modules."""
    found, x, y = set(), 0.0, 0.0
    for command, numbers in re.findall(r"([Mmh])([-\d. ]+)", path):
        values = [float(n) for n in numbers.split()]
        if command == "M":
            x, y = values
        elif command == "m":
            x, y = x + values[0], y + values[1]
        else:
            found |= {(int(x + n) - border, int(y) - border) for n in range(int(values[0]))}
            x += values[0]
    return found


def test_without_a_hash_there_is_no_code():
    assert "fieldvoice job=" not in page_of(whole_job(), integrity=Integrity(True, "intact"))
    assert "fieldvoice job=" not in page_of(whole_job())


def test_the_running_title_cannot_leave_its_string():
    hostile = '"; } </style><script>x</script> \\'
    assert not set('"<>;}') & set(css_text(hostile))
    page = page_of(begin(place=hostile).entries)
    assert "<script>x" not in page
    assert page.count("</style>") == 3  # the page's own and one in each drawing


@pytest.mark.parametrize(("more", "told"), [
    ({"version": "owner"}, "customer, office, inspector"), ({"paper": "a3"}, "a4, letter"),
    ({"units": "imperial"}, "metric, us"),
])  # fmt: skip
def test_a_version_paper_or_units_that_are_not_there_are_refused(more, told):
    with pytest.raises(ValueError, match=told):
        page_of(whole_job(), **more)


def test_the_paper_is_the_one_asked_for():
    assert "size: A4" in page_of(whole_job())
    assert "size: letter" in page_of(whole_job(), paper="letter")


BESIDE = [
    (54.9286, "microns", "metric", "54.9 Pa"), (54.9286, "microns", "us", ""),
    (54.9286, "Pa", "us", "412 microns"), (295.928, "degF", "metric", "22.8 °C"),
    (0.2892, "oz", "metric", "0.289 kg"), (9.7536, "ft-in", "metric", "9,750 mm"),
    (230.0, "V", "metric", ""), (3169491.99, "psig", "metric", "3,070 kPa gauge"),
]


@pytest.mark.parametrize(("si", "unit", "system", "text"), BESIDE)
def test_a_value_stands_beside_in_the_units_of_the_site(si, unit, system, text):
    assert beside(si, unit, system) == text


def test_what_was_said_stays_and_the_sites_units_stand_beside():
    assert "<b>412 microns (54.9 Pa)</b>" in page_of(whole_job(), units="metric")
    assert "<b>412 microns</b>" in page_of(whole_job())
    celsius = begin(**{"temperature-unit": "degC"}).entries
    assert "310 microns (41.3 Pa)" in page_of(celsius)


def test_the_curve_has_its_table():
    page = page_of(whole_job())
    table = page[page.index("The curve as a table"):]
    assert "412 microns (54.9 Pa)" in table
    assert "does not count" in table
    assert "its time is over; hold 10 min: tight" in table
