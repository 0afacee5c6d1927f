"""The review pages as they are used: real server, real browser, and strangers by real HTTP."""

import http.client
import os
import signal
import subprocess
import sys
from contextlib import contextmanager
from pathlib import Path
from urllib.parse import urlsplit

import pytest

from fieldvoice.devices.joblog import read_log
from fieldvoice.jobstate import events as e
from support.browser import DESK, PHONE, accessibility_findings, browser, watched
from support.desk_jobs import line_called, put, vacuum_job


class Served:
    """The program, as it was started."""

    def __init__(self, process, address, jobs):
        self.process, self.address, self.jobs = process, address, jobs
        self.base = address.split("/enter")[0]

    @property
    def events(self):
        return [entry.event for entry in read_log(self.jobs / "bakery").entries]

    def line(self, words):
        return f"{self.base}/job/bakery/line/{line_called(self.jobs / 'bakery', words)}"

    def ask(self, method, path, body=None, **headers):
        """One request by hand; status and text."""
        link = http.client.HTTPConnection(urlsplit(self.base).netloc, timeout=30)
        try:
            link.putrequest(method, path, skip_host="Host" in headers)
            for name, value in headers.items():
                link.putheader(name.replace("_", "-"), value)
            if body is not None:
                link.putheader("Content-Type", "application/x-www-form-urlencoded")
                link.putheader("Content-Length", str(len(body)))
            link.endheaders(body)
            found = link.getresponse()
            return found.status, found.read().decode("utf-8", "replace"), found.headers
        finally:
            link.close()

    def cookie(self):
        """As the browser gets it."""
        path = self.address.removeprefix(self.base)
        return self.ask("GET", path)[2]["Set-Cookie"].split(";")[0]


@contextmanager
def serving(jobs: Path, *more: str):
    command = [sys.executable, "-m", "fieldvoice", "review", "--jobs", str(jobs), "--print-only"]
    process = subprocess.Popen(
        [*command, *more], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
        env={**os.environ, "XDG_DATA_HOME": str(jobs / "none")})
    try:
        process.stdout.readline()
        yield Served(process, process.stdout.readline().strip(), jobs)
    finally:
        process.send_signal(signal.SIGINT)
        process.communicate(timeout=30)


@pytest.fixture(scope="module")
def running():
    with browser() as found:
        yield found


@pytest.fixture
def served(tmp_path):
    put(tmp_path / "bakery", vacuum_job())
    put(tmp_path / "bakery-in-april", vacuum_job(30))
    with serving(tmp_path) as found:
        yield found


def enter(seen, served):
    seen.open(served.address)
    seen.page.wait_for_url(f"{served.base}/")
    return seen.page


def clean(seen, served):
    """Nothing was said on the console, nothing asked for elsewhere."""
    assert seen.complaints == []
    assert [url for url in seen.requests if not url.startswith(f"{served.base}/")] == []


def test_a_line_is_opened_played_marked_and_amended(running, served):
    with watched(running) as seen:
        page = enter(seen, served)
        page.locator('a[href="/job/bakery"]').click()
        page.get_by_role("link", name="forty one twenty", exact=True).click()
        played = page.evaluate("""() => new Promise((done, failed) => {
            const sound = document.querySelector("main audio");
            sound.addEventListener("ended", () => done(sound.duration));
            sound.play().catch(failed); })""")
        assert played == pytest.approx(0.5, abs=0.05)
        page.get_by_label("wrong", exact=True).check()
        page.get_by_label("What was really said, if wrong").fill("four twelve")
        page.locator("#who-mark").fill("Ann Lee")
        page.get_by_role("button", name="Mark the line").click()
        page.get_by_text("Marked; it stands in the log.").wait_for()
        page.get_by_label("Right value").fill("412")
        page.locator("[id^=why-]:not(#why-mark)").fill("photo of the gauge")
        page.get_by_role("button", name="Amend the reading").click()
        page.get_by_text("Amended; the new value counts from now on.").wait_for()
        assert page.get_by_text("amended by Ann Lee: photo of the gauge").is_visible()
        clean(seen, served)
    marked, amended = served.events[-2:]
    assert isinstance(marked, e.LineReviewed)
    assert (marked.right, marked.words, marked.reviewer) == (False, "four twelve", "Ann Lee")
    assert isinstance(amended, e.ReadingAmended)
    assert (amended.value, amended.unit, amended.reviewer) == ("412", "microns", "Ann Lee")


def test_keys_alone_are_enough(running, served):
    with watched(running) as seen:
        page = enter(seen, served)
        press = page.keyboard.press
        for key in ("j", "Enter"):  # the newest job
            press(key)
        page.wait_for_url("**/job/*")
        press("/")
        page.keyboard.type("three ten")
        press("Enter")
        page.wait_for_url("**q=three+ten**")
        press("j")
        press("p")
        page.locator(".play.playing").wait_for()
        press("Enter")
        page.wait_for_url("**/line/*")
        for key in ("r", "Tab", "Tab", "Tab"):
            press(key)
        page.keyboard.type("Bo")
        press("Enter")
        page.get_by_text("Marked; it stands in the log.").wait_for()
        outline = page.evaluate("""() => { const button = document.querySelector("main button");
            button.focus(); return getComputedStyle(button).outlineStyle }""")
        press("u")
        page.wait_for_url("**/job/*at=*")
        clean(seen, served)
    assert outline == "solid"
    logs = [read_log(served.jobs / name).entries[-1].event
            for name in ("bakery", "bakery-in-april")]
    assert [x.reviewer for x in logs if isinstance(x, e.LineReviewed)] == ["Bo"]


def test_the_letter_keys_can_be_switched_off_for_good(running, served):
    with watched(running) as seen:
        page = enter(seen, served)
        page.get_by_role("button", name="Switch the letter keys off").click()
        page.keyboard.press("j")
        assert page.evaluate("document.activeElement.tagName") == "BUTTON"
        seen.open(f"{served.base}/job/bakery")
        page.keyboard.press("/")
        assert page.evaluate("document.activeElement.tagName") == "BODY"
        page.get_by_role("button", name="Switch the letter keys on").click()
        page.keyboard.press("/")
        assert page.evaluate("document.activeElement.type") == "search"
        assert (accessibility_findings(page), seen.complaints) == ([], [])


def test_a_point_of_the_curve_leads_to_its_line(running, served):
    with watched(running) as seen:
        page = enter(seen, served)
        seen.open(f"{served.base}/job/bakery/curve")
        assert page.locator("svg.wide polyline.visit").count() == 1
        page.locator("svg.wide a").last.focus()
        page.keyboard.press("Enter")
        page.wait_for_url(served.line("three ten"))
        clean(seen, served)


def test_it_works_without_script(running, served):
    with watched(running, java_script_enabled=False) as seen:
        enter(seen, served)
        seen.open(served.line("three ten"))
        seen.page.get_by_label("right", exact=True).check()
        seen.page.locator("#who-mark").fill("Bo")
        seen.page.get_by_role("button", name="Mark the line").click()
        seen.page.get_by_text("Marked; it stands in the log.").wait_for()
    assert isinstance(served.events[-1], e.LineReviewed)


@pytest.mark.parametrize("size", [DESK, PHONE], ids=["wide", "phone"])
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_no_page_shuts_anybody_out_or_scrolls_sideways(running, served, size, scheme):
    with watched(running, size, color_scheme=scheme) as seen:
        page = enter(seen, served)
        for path in ("/", "/job/bakery", "/job/bakery/curve", "/job/bakery/check"):
            seen.open(f"{served.base}{path}")
            assert (accessibility_findings(page), seen.wider_than_its_window) == ([], 0), path
        seen.open(served.line("forty one twenty"))
        assert (accessibility_findings(page), seen.wider_than_its_window) == ([], 0)
        clean(seen, served)


def test_a_page_from_elsewhere_reads_and_writes_nothing(running, served, tmp_path):
    other = tmp_path / "elsewhere.html"
    other.write_text(f"""<!doctype html><title>x</title><img src="{served.base}/static/mark.svg"
        onload="document.title='read'"><form method=post action="{served.base}/job/bakery/remark">
        <input name=text value=stolen><input name=reviewer value=X></form>""", encoding="utf-8")
    before = len(served.events)
    with watched(running) as seen:
        enter(seen, served)
        seen.open(other)
        got = seen.page.evaluate(f"""fetch('{served.base}/', {{mode: 'no-cors',
            credentials: 'include'}}).then(() => 'something', () => 'nothing')""")
        assert (got, seen.page.title()) == ("nothing", "x")
        seen.page.evaluate("document.forms[0].submit()")
        seen.page.get_by_text("Not let in").wait_for()
    assert len(served.events) == before


def test_strangers_are_refused_by_real_http(served):
    cookie, before = served.cookie(), len(served.events)
    own = served.base
    host = urlsplit(own).netloc
    form = b"text=x&reviewer=Ann"
    assert served.ask("GET", "/", Cookie=cookie)[0] == 200
    assert served.ask("GET", "/")[0] == 403
    assert served.ask("GET", "/", Cookie=cookie, Host=f"evil.example:{host[-5:]}")[0] == 403
    assert served.ask("GET", "/", Cookie=cookie, Origin="http://evil.example")[0] == 403
    for origin in ({}, {"Origin": "null"}, {"Origin": "http://evil.example"}):
        assert served.ask("POST", "/job/bakery/remark", form, Cookie=cookie, **origin)[0] == 403
    assert served.ask("POST", "/job/bakery/remark", form, Origin=own)[0] == 403
    assert len(served.events) == before
    assert served.ask("POST", "/job/bakery/remark", form, Cookie=cookie, Origin=own)[0] == 303
    assert len(served.events) == before + 1


@pytest.mark.parametrize("path", ["/job/../../etc/passwd", "/job/%2e%2e/%2e%2e", "//evil.example/",
                                  "/job/bakery/clip/../../log.jsonl", "/static/../app.py",
                                  "/job/bakery?page=9999999999&at=-5&show=nonsense"])
def test_odd_addresses_show_nothing_and_no_traceback(served, path):
    status, text, _ = served.ask("GET", path, Cookie=served.cookie())
    assert status in (200, 404)
    assert "Traceback" not in text
    assert "root:" not in text


def test_it_listens_on_this_computers_own_address_alone(served):
    port = urlsplit(served.base).port
    table = Path("/proc/net/tcp")
    if not table.exists():
        pytest.skip("no /proc/net/tcp here")
    tables = table.read_text() + Path("/proc/net/tcp6").read_text()
    listening = [row.split()[1] for row in tables.splitlines() if f":{port:04X} " in row
                 and row.split()[3] == "0A"]
    assert listening == [f"0100007F:{port:04X}"]


def test_an_interrupt_ends_it_without_a_word(tmp_path):
    put(tmp_path / "bakery", vacuum_job())
    with serving(tmp_path, "bakery") as served:
        assert served.address.endswith("&job=bakery")
        served.process.send_signal(signal.SIGINT)
        assert served.process.wait(30) in (0, 130)
        assert served.process.stderr.read() == ""
