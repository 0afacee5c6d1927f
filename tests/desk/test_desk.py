"""The review pages: who is let in, what is shown, and that every deed is a new event."""

import io
import json
import os
import re
import shutil
import time
import wave
import zipfile
from datetime import UTC, datetime, timedelta
from threading import Event as Flag

import pytest

from fieldvoice.__main__ import main
from fieldvoice.commands.wiring.keeping.log_for_review import log_for_review
from fieldvoice.desk.app import make_app
from fieldvoice.desk.door import Door
from fieldvoice.desk.found.vacuum import earlier_visits
from fieldvoice.desk.library import Library
from fieldvoice.desk.shelf import Shelf
from fieldvoice.desk.transcribing import Transcriber
from fieldvoice.desk.writing import Pen
from fieldvoice.devices.joblog import JobLog, read_log, read_procedures
from fieldvoice.devices.vosk_recognizer import OWN_MODEL
from fieldvoice.jobstate import events as e
from fieldvoice.review.logged_job import read_units
from support.desk_jobs import line_called, put, vacuum_job

HOST = "127.0.0.1:8123"
FORM = {"Origin": f"http://{HOST}", "Sec-Fetch-Site": "same-origin"}


class Visitor:
    """A browser that came in with the key."""

    def __init__(self, jobs, transcriber=None):
        self.jobs, self.door = jobs, Door(8123)
        app = make_app(Library(Shelf(jobs)), Pen(log_for_review), self.door, transcriber)
        self.client = app.test_client()
        self.outside = app.test_client()  # without the cookie
        self.get(f"/enter?key={self.door.key}")

    def get(self, path, client=None, **headers):
        return (client or self.client).get(
            path, base_url=f"http://{HOST}", buffered=True,
            headers={name.replace("_", "-"): value for name, value in headers.items()})

    def post(self, path, headers=FORM, **form):
        return self.client.post(path, base_url=f"http://{HOST}", headers=headers, data=form)


@pytest.fixture
def visitor(tmp_path):
    jobs = tmp_path / "jobs"
    put(jobs / "bakery", vacuum_job())
    return Visitor(jobs)


def line_page(visitor, words):
    return f"/job/bakery/line/{line_called(visitor.jobs / 'bakery', words)}"


def events_of(visitor):
    return [entry.event for entry in read_log(visitor.jobs / "bakery").entries]


# --- the door ------------------------------------------------------------------------------------

PATHS = ("/", "/job/bakery", "/job/bakery/curve", "/static/desk.css", "/labelled.zip", "/nowhere",
         "/job/bakery/clip/clips/0002.wav")


@pytest.mark.parametrize("path", PATHS)
def test_without_the_key_nothing_is_shown(visitor, path):
    found = visitor.get(path, visitor.outside)
    assert found.status_code == 403
    assert "Bakery" not in found.text


@pytest.mark.parametrize("path", PATHS)
@pytest.mark.parametrize("headers", [
    {"Origin": "http://elsewhere.example"}, {"Origin": "null"}, {"Origin": "http://127.0.0.1:9000"},
    {"Sec_Fetch_Site": "cross-site"}, {"Sec_Fetch_Site": "same-site"},
    {"Host": "elsewhere.example:8123"}, {"Host": "127.0.0.1"}, {"Host": "localhost:8123"},
])  # fmt: skip
def test_another_page_in_the_same_browser_reads_nothing(visitor, path, headers):
    assert visitor.get(path, **headers).status_code == 403


@pytest.mark.parametrize("headers", [
    {}, {"Origin": "null"}, {"Origin": "http://elsewhere.example"},
    {**FORM, "Sec-Fetch-Site": "same-site"}, {**FORM, "Host": "elsewhere.example:8123"},
])  # fmt: skip
def test_another_page_in_the_same_browser_writes_nothing(visitor, headers):
    before = len(events_of(visitor))
    found = visitor.post("/job/bakery/remark", headers, text="x", reviewer="Ann")
    assert (found.status_code, len(events_of(visitor))) == (403, before)


def test_a_wrong_key_opens_nothing_and_gives_no_cookie(visitor):
    found = visitor.get("/enter?key=wrong", visitor.outside)
    assert found.status_code == 403
    assert "Set-Cookie" not in found.headers


def test_the_cookie_is_strict_and_out_of_reach_of_scripts(visitor):
    cookie = visitor.get(f"/enter?key={visitor.door.key}", visitor.outside).headers["Set-Cookie"]
    assert "HttpOnly" in cookie
    assert "SameSite=Strict" in cookie
    assert visitor.door.key not in cookie


@pytest.mark.parametrize("path", ["/", "/job/bakery", "/nowhere", "/static/desk.js"])
def test_no_page_is_kept_framed_or_given_to_others(visitor, path):
    headers = visitor.get(path).headers
    assert "default-src 'none'" in headers["Content-Security-Policy"]
    assert "frame-ancestors 'none'" in headers["Content-Security-Policy"]
    assert "unsafe" not in headers["Content-Security-Policy"]
    assert headers["Cache-Control"] == "no-store"
    assert "Access-Control-Allow-Origin" not in headers


# --- names and paths ---------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["..", ".", "%2e%2e", "..%2fjobs", "%2fetc", "nobody", "a%00b",
                                  "bakery%2f..%2fbakery", "..%5cjobs"])
def test_a_name_that_is_no_job_leads_nowhere(visitor, name):
    found = visitor.get(f"/job/{name}")
    assert found.status_code == 404
    assert "Traceback" not in found.text


@pytest.mark.parametrize("clip", [
    "../log.jsonl", "log.jsonl", "procedure.txt", "clips/../log.jsonl", "clips/9999.wav",
    "%2fetc/passwd", "..%2f..%2fsecret.wav", "clips%5c0002.wav",
])  # fmt: skip
def test_only_sounds_that_the_log_names_are_served(visitor, clip):
    assert visitor.get(f"/job/bakery/clip/{clip}").status_code == 404


def test_links_are_not_followed(visitor, tmp_path):
    secret = put(tmp_path / "elsewhere", vacuum_job(place="Secret place"))
    (visitor.jobs / "linked").symlink_to(secret)
    assert visitor.get("/job/linked").status_code == 404
    assert "linked" not in visitor.get("/").text
    clip = next((visitor.jobs / "bakery" / "clips").iterdir())
    assert visitor.get(f"/job/bakery/clip/clips/{clip.name}").status_code == 200
    clip.unlink()
    clip.symlink_to(secret / "log.jsonl")
    assert visitor.get(f"/job/bakery/clip/clips/{clip.name}").status_code == 404


def test_a_sound_is_served_whole_and_in_part(visitor):
    clip = next((visitor.jobs / "bakery" / "clips").iterdir())
    whole = visitor.get(f"/job/bakery/clip/clips/{clip.name}")
    part = visitor.get(f"/job/bakery/clip/clips/{clip.name}", Range="bytes=4-7")
    assert (whole.mimetype, whole.data) == ("audio/wav", clip.read_bytes())
    assert (part.status_code, part.data) == (206, clip.read_bytes()[4:8])


# --- what is done -------------------------------------------------------------------------------


def test_a_mark_is_a_new_event_and_no_old_line_changes(visitor):
    log = visitor.jobs / "bakery" / "log.jsonl"
    before, page = log.read_bytes(), line_page(visitor, "forty one twenty")
    found = visitor.post(f"{page}/mark", verdict="wrong", words="four  twelve", reason="pump noise",
                         reviewer="Ann Lee")
    assert found.status_code == 303
    assert log.read_bytes().startswith(before)
    line = int(page.rsplit("/", 1)[1])
    assert events_of(visitor)[-1] == e.LineReviewed(line, False, "Ann Lee", "pump noise",
                                                    "four twelve")
    assert "marked wrong" in visitor.get("/job/bakery?show=wrong").text


def test_an_amended_value_counts_from_then_on_and_the_job_stays_finished(visitor):
    page = line_page(visitor, "forty one twenty")
    reading = int(page.rsplit("/", 1)[1]) + 1
    visitor.post(f"{page}/amend", reading=reading, value="412", unit="microns",
                 reason="gauge photo shows 412", reviewer="Ann Lee")
    folder = visitor.jobs / "bakery"
    entries = read_log(folder).entries
    state = read_units(entries, read_procedures(folder)).first.state
    amended = next(r for r in state.readings if r.seq == reading)
    assert (amended.now.said, amended.now.reviewer, amended.now.within) == ("412", "Ann Lee", False)
    assert amended.si == pytest.approx(412 * 0.133322387415)
    assert state.finished
    assert state.last_at == entries[-2].at
    page_text = visitor.get(page).text
    assert "<s>4,120 microns</s>" in page_text
    assert "amended by Ann Lee: gauge photo shows 412" in page_text
    assert "amended" in visitor.get("/job/bakery/curve").text
    assert "amended to 412 microns by Ann Lee" in visitor.get("/job/bakery?show=amended").text


@pytest.mark.parametrize(("value", "unit", "reason", "says"), [
    ("four", "microns", "r", "no number"), ("NaN", "microns", "r", "no number"),
    ("1e999999", "microns", "r", ""), ("412", "degF", "r", "cannot be in"),
    ("412", "nonsense", "r", "do not know the unit"), ("412", "microns", "", "Say why"),
    ("4120", "microns", "r", "already"), ("-5", "microns", "r", "vacuum"),
    ("900000", "microns", "r", "I mean it"),
])  # fmt: skip
def test_what_cannot_be_a_reading_is_refused_with_what_was_typed_kept(
    visitor, value, unit, reason, says
):
    page, before = line_page(visitor, "forty one twenty"), len(events_of(visitor))
    reading = int(page.rsplit("/", 1)[1]) + 1
    found = visitor.post(f"{page}/amend", reading=reading, value=value, unit=unit, reason=reason,
                         reviewer="Ann")
    assert (found.status_code, len(events_of(visitor))) == (422, before)
    assert says in found.text
    assert f'value="{value}"' in found.text


def test_an_unusual_value_counts_once_it_is_meant(visitor):
    page = line_page(visitor, "forty one twenty")
    reading = int(page.rsplit("/", 1)[1]) + 1
    asked = {"reading": reading, "value": "900000", "unit": "microns", "reason": "r"}
    assert visitor.post(f"{page}/amend", **asked, reviewer="Ann").status_code == 422
    assert visitor.post(f"{page}/amend", **asked, reviewer="Ann", sure="on").status_code == 303


def test_remarks_and_words_written_down_are_events_with_their_reviewer(visitor):
    page = line_page(visitor, r"\[unk\]")
    line = int(page.rsplit("/", 1)[1])
    visitor.post(f"{page}/transcript", text="the flare nut was loose", reviewer="Bo")
    visitor.post(f"{page}/remark", text="ask the customer")  # the name is known by now
    visitor.post("/job/bakery/remark", text="<script>alert(1)</script>")
    assert events_of(visitor)[-3:] == [
        e.NoteTranscribed(line, "the flare nut was loose", "by-hand", "Bo"),
        e.Remarked("ask the customer", "Bo", line),
        e.Remarked("<script>alert(1)</script>", "Bo")]
    shown = visitor.get("/job/bakery").text
    assert "<script>alert" not in shown
    assert "&lt;script&gt;alert" in shown


@pytest.mark.parametrize(("deed", "form"), [
    ("mark", {"verdict": "right"}), ("remark", {"text": "x"}), ("transcript", {"text": "x"}),
])  # fmt: skip
def test_nobody_reviews_without_a_name(visitor, deed, form):
    before = len(events_of(visitor))
    found = visitor.post(f"{line_page(visitor, 'three ten')}/{deed}", **form)
    assert (found.status_code, len(events_of(visitor))) == (422, before)
    assert "Say who you are" in found.text


def test_while_a_fieldvoice_works_on_the_job_it_is_read_but_not_written(visitor):
    page = line_page(visitor, "three ten")
    with JobLog(visitor.jobs / "bakery"):
        found = visitor.post(f"{page}/mark", verdict="right", reviewer="Ann")
        assert found.status_code == 409
        assert f"process {os.getpid()}" in found.text
        assert "At work now" in visitor.get("/job/bakery").text
    assert visitor.post(f"{page}/mark", verdict="right", reviewer="Ann").status_code == 303


def test_a_form_that_is_too_large_is_refused_without_a_trace(visitor):
    found = visitor.post("/job/bakery/remark", text="x" * 200_000, reviewer="Ann")
    assert found.status_code == 413
    assert "Traceback" not in found.text


# --- the list ------------------------------------------------------------------------------------


def test_the_list_tells_who_works_on_a_job_now_though_its_log_is_as_it_was(visitor):
    with JobLog(visitor.jobs / "bakery"):
        assert f"at work in process {os.getpid()}" in visitor.get("/").text
    assert "at work" not in visitor.get("/").text


def test_a_timer_in_the_list_runs_on(visitor):
    now = datetime.now(UTC)
    entries = [entry for entry in vacuum_job() if not isinstance(entry.event, e.JobFinished)]
    due = (now + timedelta(hours=2)).isoformat()
    entries.append(e.Entry(entries[-1].seq + 1, now, e.TimerStarted("pump oil", 7200, due)))
    put(visitor.jobs / "open", entries)
    library, later = Library(Shelf(visitor.jobs)), now + timedelta(hours=1)
    assert "pump oil 2 hours left" in library.summary("open", now).words
    assert "pump oil 1 hour left" in library.summary("open", later).words


@pytest.mark.parametrize("mode", [e.PRACTICE, e.RECORDING])
def test_a_timer_outside_the_clock_of_today_stands_as_at_the_last_line_of_any_kind(visitor, mode):
    at = datetime.now(UTC) - timedelta(days=2)
    due = at + timedelta(minutes=10)
    with JobLog.create(visitor.jobs / "open", "") as log:
        log.append(e.JobStarted("open", "small", "0" * 64, "0", {}, mode), at)
        log.append(e.StepOpened("s", "one"), at)
        log.append(e.TimerStarted("hold", 600.0, due.isoformat(), True), at)
        log.append(e.LineHeard("what now", "typed", {"intent": "what-now"}),
                   at + timedelta(minutes=4))
    library, now = Library(Shelf(visitor.jobs)), datetime.now(UTC)
    for moment in (now, now + timedelta(hours=1)):
        assert "hold 6 minutes left" in library.summary("open", moment).words


@pytest.mark.parametrize(
    "words", ["bakery", "miller bakery", "hill street", "2026-05-14", "kim day"])
def test_the_list_is_searched_by_what_is_known_of_a_job(visitor, words):
    put(visitor.jobs / "other", vacuum_job(3, "Clinic"))
    with JobLog(visitor.jobs / "bakery") as log:
        at = log.entries[-1].at
        log.append(e.HeaderAmended("place", "Bakery, Hill Street", "Bakery", "Ann", "typing"), at)
        log.append(e.HeaderAmended("technician", "Kim Day", "", "Ann", "missing"), at)
    shown = visitor.get(f"/?q={words.replace(' ', '+')}").text
    assert "1 job with" in shown
    assert 'href="/job/bakery"' in shown


# --- what is shown --------------------------------------------------------------------------------


def test_filters_and_search_show_those_lines_alone(visitor):
    assert "forty one twenty" in visitor.get("/job/bakery?show=readings").text
    notes = visitor.get("/job/bakery?show=notes").text
    assert "[unk]" in notes
    assert "forty one twenty" not in notes
    assert "five thousand" not in visitor.get("/job/bakery?q=three+ten").text


def test_earlier_visits_to_the_same_place_lie_over_the_curve(visitor):
    put(visitor.jobs / "bakery-in-april", vacuum_job(30))
    put(visitor.jobs / "other", vacuum_job(20, "Clinic"))
    shown = visitor.get("/job/bakery/curve").text
    assert "/job/bakery-in-april" in shown
    assert "14 Apr 2026" in shown
    assert "/job/other" not in shown
    assert "earlier visit, laid" not in visitor.get("/job/bakery-in-april/curve").text


def test_of_many_earlier_visits_only_those_shown_are_read(visitor):
    for days in range(1, 8):
        put(visitor.jobs / f"visit-{days}", vacuum_job(days))
    library = Library(Shelf(visitor.jobs))
    job = library.job("bakery")
    found = [visit.job for visit in earlier_visits(library, job, datetime.now(UTC))]
    assert found == ["visit-1", "visit-2", "visit-3"]
    assert set(library.kept) == {"bakery", *found}


def test_a_point_of_the_curve_leads_to_its_line(visitor):
    assert f'href="{line_page(visitor, "three ten")}"' in visitor.get("/job/bakery/curve").text


@pytest.mark.parametrize("damage", [
    b'{"v": 1e999}', b"[" * 200_000, b'{"v": 1, "seq": "x"}', b"\xff\xfe", b'{"v": 1}', b"null",
])  # fmt: skip
def test_a_damaged_log_has_a_page_that_says_so_and_hides_no_other(visitor, damage):
    folder = visitor.jobs / "broken"
    shutil.copytree(visitor.jobs / "bakery", folder)
    lines = (folder / "log.jsonl").read_bytes().split(b"\n")
    lines[2] = damage
    (folder / "log.jsonl").write_bytes(b"\n".join(lines))
    shown = visitor.get("/").text
    assert "Damaged" in shown
    assert "Bakery" in shown
    for page in ("", "/curve", "/check", "/line/4", "/labelled.zip"):
        found = visitor.get(f"/job/broken{page}")
        assert b"Traceback" not in found.data  # the last one is a zip
        assert b"File &#34;" not in found.data
    assert visitor.get("/labelled.zip").status_code == 200


@pytest.fixture
def sealed(visitor):
    """A job that was sealed when its log was closed, and that nobody touched since."""
    folder = visitor.jobs / "bakery"
    found = visitor.get("/job/bakery/check").text
    assert "As it was written" in found
    assert "sealed to its end" in found
    return folder


def in_the_log(old, new):
    def alter(folder):
        log = folder / "log.jsonl"
        whole = log.read_bytes()
        assert old in whole
        log.write_bytes(whole.replace(old, new))

    return alter


def cut(folder):
    log = folder / "log.jsonl"
    log.write_bytes(b"".join(log.read_bytes().splitlines(keepends=True)[:-1]))


def tear(folder):
    log = folder / "log.jsonl"
    log.write_bytes(log.read_bytes()[:-9])


def another_procedure(folder):
    kept = folder / "procedure.txt"
    kept.write_text(kept.read_text("utf-8") + "\n# added\n", encoding="utf-8")


@pytest.mark.parametrize(("alter", "where"), [
    (in_the_log(b"five thousand", b"five hundreds"), "line"),
    (in_the_log(b'"value": "310"', b'"value": "210"'), "line"),
    (in_the_log(b"handed-over", b"handed-ever"), "line"),
    (cut, "seal"), (tear, "line"), (another_procedure, "procedure"),
    (lambda folder: (folder / "log.jsonl").write_bytes(b""), ""),
    (lambda folder: (folder / "seal.json").write_bytes(b"{}"), "seal"),
])  # fmt: skip
def test_the_check_finds_what_was_altered_and_says_where(visitor, sealed, alter, where):
    alter(sealed)
    shown = visitor.get("/job/bakery/check")
    assert shown.status_code == 200
    assert "Not as it was written" in shown.text
    faults = re.findall(r"<li>(.*?)</li>", shown.text)
    assert any(where in fault for fault in faults), faults
    assert str(sealed) not in "".join(faults)  # a reviewer is told of the job, not of folders
    for page in ("/", "/job/bakery", "/job/bakery/curve"):
        assert visitor.get(page).status_code in (200, 409), page


def test_the_labelled_set_has_words_and_sounds(visitor):
    page = line_page(visitor, "forty one twenty")
    visitor.post(f"{page}/mark", verdict="wrong", words="four twelve", reviewer="Ann")
    visitor.post(f"{line_page(visitor, 'three ten')}/mark", verdict="right", reviewer="Ann")
    with zipfile.ZipFile(io.BytesIO(visitor.get("/labelled.zip").data)) as found:
        told = [json.loads(line) for line in found.read("lines.jsonl").decode().splitlines()]
        assert [(t["heard"], t["right"], t["verdict"]) for t in told] == [
            ("forty one twenty", "four twelve", "wrong"), ("three ten", "three ten", "right")]
        assert all(found.read(t["path"]).startswith(b"RIFF") for t in told)
        assert told[0]["confidence"] == 0.93


def test_a_reading_put_right_is_an_example_and_the_line_that_put_it_right_is_none(visitor):
    entries = vacuum_job()[:-3]
    taken = next(x for x in entries if isinstance(x.event, e.ReadingTaken)
                 and x.event.value == "4120")
    at, line = entries[-1].at, entries[-1].seq + 1
    entries += [
        e.Entry(line, at, e.LineHeard("correction four twelve", "voice", {}, 0.9)),
        e.Entry(line + 1, at, e.ReadingCorrected(taken.seq, "412", "microns", 54.9, "Pa", line))]
    put(visitor.jobs / "corrected", entries)
    with zipfile.ZipFile(io.BytesIO(visitor.get("/job/corrected/labelled.zip").data)) as found:
        told = [json.loads(line) for line in found.read("lines.jsonl").decode().splitlines()]
        (sound,) = [name for name in found.namelist() if name.endswith(".wav")]
        with wave.open(io.BytesIO(found.read(sound))) as played:
            assert (played.getframerate(), played.getnchannels(), played.getnframes()) == (
                16_000, 1, 8_000)
        assert all(f"  {name} " in found.read("README.txt").decode() or name in ("line", "job")
                   for name in told[0])
    assert [(t["heard"], t["right"], t["verdict"], t["corrected_to"], t["path"]) for t in told] == [
        ("forty one twenty", None, "corrected", "412 microns", sound)]


def test_a_larger_model_proposes_and_the_reviewer_decides(tmp_path):
    put(tmp_path / "bakery", vacuum_job())
    heard = Flag()

    def hear(sound):
        heard.set()
        return f"loose nut in {sound.name}"

    transcriber = Transcriber(lambda: hear)
    visitor = Visitor(tmp_path, transcriber)
    page = line_page(visitor, r"\[unk\]")
    before = len(events_of(visitor))
    assert visitor.post(f"{page}/listen").status_code == 303
    assert heard.wait(10)
    for _ in range(1000):
        if "loose nut in" in (text := visitor.get(page).text):
            break
    assert "loose nut in" in text
    assert len(events_of(visitor)) == before  # nothing is logged unasked
    words = "loose nut at the flare"
    visitor.post(f"{page}/transcript", text=words, reviewer="Bo")
    assert events_of(visitor)[-1].how == "recognizer-and-hand"


def test_where_the_larger_model_hears_nothing_the_page_says_so(tmp_path):
    put(tmp_path / "bakery", vacuum_job())
    visitor = Visitor(tmp_path, Transcriber(lambda: lambda sound: ""))
    page = line_page(visitor, r"\[unk\]")
    visitor.post(f"{page}/listen")
    until = time.monotonic() + 10
    while "page comes back" in (text := visitor.get(page).text) and time.monotonic() < until:
        time.sleep(0.01)
    assert "heard no words" in text
    visitor.post(f"{page}/transcript", text="loose nut", reviewer="Bo")
    assert events_of(visitor)[-1].how == "by-hand"


@pytest.mark.parametrize(("model", "why"), [
    ("nowhere", "no speech model at"), (".", "is not a speech model"),
    (OWN_MODEL, "no free speech"),
])  # fmt: skip
def test_a_model_that_cannot_hear_notes_is_refused_before_anything_is_served(
    tmp_path, capsys, model, why
):
    given = str(model if model == OWN_MODEL else tmp_path / model)
    assert main(["review", "--jobs", str(tmp_path), "--model-for-notes", given]) == 2
    told = capsys.readouterr().err
    assert why in told
    assert model == OWN_MODEL or "with --model-for-notes" in told


def test_without_a_larger_model_the_page_says_how_to_get_one(visitor):
    assert "--model-for-notes" in visitor.get(line_page(visitor, r"\[unk\]")).text
