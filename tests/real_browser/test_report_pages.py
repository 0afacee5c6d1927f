"""The report in a real browser: on a phone, on a desk, and printed."""

import re
import subprocess

import pytest

from fieldvoice.review.report import Integrity
from support.browser import DESK, PHONE, accessibility_findings, browser, watched
from support.outcome_jobs import JOBS, begin, job_of
from support.review_job import page_of

INTACT = Integrity(True, "intact", "ab12" * 16)


@pytest.fixture(scope="module")
def running():
    with browser() as found:
        yield found


def saved(tmp_path, entries, **more):
    path = tmp_path / "report.html"
    path.write_text(page_of(entries, clips_at=None, integrity=INTACT, **more), encoding="utf-8")
    return path


@pytest.mark.parametrize("version", ["customer", "office", "inspector"])
@pytest.mark.parametrize("name", JOBS)
def test_a_report_fits_a_phone_shuts_nobody_out_and_asks_for_nothing(
    running, tmp_path, name, version
):
    page = saved(tmp_path, job_of(name), version=version)
    with watched(running, PHONE) as seen:
        seen.open(page)
        assert seen.wider_than_its_window <= 0
        assert seen.complaints == []
        assert [url for url in seen.requests if not url.endswith("report.html")] == []
        assert accessibility_findings(seen.page) == []


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_on_a_desk_too_in_light_and_in_dark(running, tmp_path, scheme):
    with watched(running, DESK, color_scheme=scheme) as seen:
        seen.open(saved(tmp_path, job_of("mended"), version="office"))
        assert seen.wider_than_its_window <= 0
        assert accessibility_findings(seen.page) == []


def test_a_word_of_five_thousand_letters_wraps(running, tmp_path):
    book = begin(place="W" * 5000)
    book.read("vacuum", "300", "microns", "m" * 5000)
    with watched(running, PHONE) as seen:
        seen.open(saved(tmp_path, book.entries, version="inspector"))
        assert seen.wider_than_its_window <= 0


def test_the_text_of_the_curve_can_be_read_on_a_phone(running, tmp_path):
    with watched(running, PHONE) as seen:
        seen.open(saved(tmp_path, job_of("mended"), version="customer"))
        heights = seen.page.evaluate(
            "[...document.querySelectorAll('svg.vc text')].map(t => t.getBoundingClientRect())"
            ".filter(r => r.width > 0 && r.height > r.width * 0 && r.width > r.height)"
            ".map(r => r.height)")
    assert len(heights) > 5
    assert min(heights) >= 11  # pixels


def pages(running, path) -> tuple[int, str]:
    """How many pages it prints on, and the text of each between form feeds."""
    pdf = path.with_suffix(".pdf")
    with watched(running) as seen:
        seen.open(path)
        seen.page.pdf(path=str(pdf), prefer_css_page_size=True)
    count = len(re.findall(rb"/Type\s*/Page\b", pdf.read_bytes()))
    return count, str(pdf)


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("name", JOBS)
def test_the_customers_report_prints_on_two_pages_at_most(running, tmp_path, name, paper):
    count, _ = pages(running, saved(tmp_path, job_of(name), version="customer", paper=paper))
    assert 1 <= count <= 2


def test_practice_and_the_page_number_stand_on_every_page(running, tmp_path):
    count, pdf = pages(running, saved(tmp_path, job_of("practice"), version="inspector"))
    try:
        text = subprocess.run(["pdftotext", "-layout", pdf, "-"], capture_output=True, text=True,
                              check=True).stdout
    except FileNotFoundError:
        pytest.skip("no pdftotext: apt-get install poppler-utils")
    sheets = text.split("\f")[:-1]
    assert len(sheets) == count > 1
    for number, sheet in enumerate(sheets, 1):
        assert f"Page {number} of {count}" in sheet
        assert "PRACTICE" in sheet
        assert "Mill Lane 4" in sheet
