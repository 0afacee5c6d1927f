"""The report as one file in a real browser: it plays, runs nothing else, and fetches nothing."""

import shutil
import subprocess
from pathlib import Path

import pytest

from fieldvoice.__main__ import main
from fieldvoice.commands.rim.print_page import find_browser, pdf_of
from support.browser import PHONE, browser, watched
from support.job_with_sound import job_with_sound

PLAYER = "document.querySelector('audio')"
EVIL = ("<script>document.title='taken'</script><img src=x onerror=\"document.title='taken'\">"
        "<svg onload=\"document.title='taken'\"><a href=\"javascript:1\">x</a>")


def until(page, expression: str) -> None:
    """Wait for it to be true; Playwright's own waiting evaluates, which the policy forbids."""
    for _ in range(200):
        if page.evaluate(expression):
            return
        page.wait_for_timeout(20)
    raise AssertionError(f"never came true: {expression}")


@pytest.fixture(scope="module")
def running():
    with browser() as found:
        yield found


@pytest.fixture
def page(tmp_path: Path) -> Path:
    """A report that was moved away from its job, which is gone."""
    folder = tmp_path / "jobs" / "unit-12b"
    job_with_sound(folder, "four twelve microns", "three ten microns", note=EVIL)
    assert main(["report", str(folder), "--into", str(tmp_path / "made")]) == 0
    moved = tmp_path / "else where"
    moved.mkdir()
    (tmp_path / "made" / "report.html").rename(moved / "r.html")
    shutil.rmtree(tmp_path / "jobs")
    return moved / "r.html"


def test_embedded_sound_plays_to_its_end_wherever_the_page_lies(running, page):
    with watched(running) as seen:
        seen.open(page)
        button = seen.page.get_by_role("button", name="Play: four twelve microns, 10:14").first
        seen.page.evaluate(
            f"window.ended = 0; {PLAYER}.onended = () => {{ window.ended += 1 }}; void 0")
        button.click()
        until(seen.page, f"{PLAYER}.currentTime > 0.05")
        assert button.get_attribute("aria-pressed") == "true"
        until(seen.page, "window.ended === 1")
        assert button.get_attribute("aria-pressed") == "false"
        assert seen.page.evaluate(f"{PLAYER}.duration") == pytest.approx(0.5, abs=0.15)
        assert seen.complaints == []
        assert seen.requests == [page.as_uri()]


def test_one_sound_plays_at_a_time_and_keys_are_enough(running, page):
    with watched(running) as seen:
        seen.open(page)
        playing = "[...document.querySelectorAll('.play[aria-pressed=true]')].length"
        seen.page.get_by_role("button", name="Play: four twelve").first.focus()
        seen.page.keyboard.press("Enter")
        assert seen.page.evaluate(playing) == 1
        seen.page.get_by_role("button", name="Play: three ten").first.focus()
        seen.page.keyboard.press("Space")
        until(seen.page, f"{PLAYER}.currentTime > 0.02")
        assert seen.page.evaluate(playing) == 1
        seen.page.keyboard.press("Space")  # again: stops
        assert seen.page.evaluate(playing) == 0
        assert seen.page.evaluate(f"{PLAYER}.paused")


def test_words_of_a_log_run_nothing_and_the_policy_would_stop_them(running, page):
    with watched(running) as seen:
        seen.open(page)
        assert "unit-12b" in seen.page.title()
        assert EVIL in seen.page.inner_text("main")
        refused: list[str | None] = []
        seen.page.on("requestfailed", lambda request: refused.append(request.failure))
        seen.page.evaluate(  # as if escaping had failed
            "document.querySelector('main').insertAdjacentHTML('beforeend',"
            "'<img src=\"https://example.org/x.png\" onerror=\"document.title=1\">');"
            "document.querySelector('main').append(Object.assign("
            "document.createElement('script'), {textContent: 'document.title=\"taken\"'}))")
        seen.page.wait_for_timeout(200)
        assert "unit-12b" in seen.page.title()
        assert any("script-src" in told for told in seen.complaints)
        assert any("img-src" in told for told in seen.complaints)
        assert refused == ["csp"]  # the picture was asked for, and never left


def test_on_paper_no_button_is_shown(running, page):
    with watched(running) as seen:
        seen.open(page)
        assert seen.page.locator("button.play:visible").count() > 1
        seen.page.emulate_media(media="print")
        assert seen.page.locator("button.play:visible").count() == 0


def test_linked_sound_plays_beside_the_page(running, tmp_path):
    folder = tmp_path / "unit 12b"
    job_with_sound(folder, "four twelve microns")
    assert main(["report", str(folder), "--link-sound"]) == 0
    assert b"data:audio" not in (folder / "report.html").read_bytes()
    with watched(running, PHONE) as seen:
        seen.open(folder / "report.html")
        seen.page.locator("button.play").first.click()
        until(seen.page, f"{PLAYER}.currentTime > 0.05")
        assert seen.complaints == []


def test_a_report_is_printed_as_pdf(running, page):
    assert pdf_of(page.read_text("utf-8"), find_browser()).startswith(b"%PDF-")


def test_a_browser_that_hangs_is_ended_and_says_so(tmp_path):
    from fieldvoice.commands.wiring.errors import CommandError

    slow = tmp_path / "slow"
    slow.write_text(f"#!/bin/sh\nsleep 600 & echo $! > {tmp_path}/child; wait\n")
    slow.chmod(0o755)
    with pytest.raises(CommandError, match="did not print within"):
        pdf_of("<p>x", str(slow), limit_s=1.0)
    child = (tmp_path / "child").read_text().strip()
    state = subprocess.run(["ps", "-o", "stat=", "-p", child], capture_output=True, text=True)
    assert state.stdout.strip()[:1] in ("", "Z")
