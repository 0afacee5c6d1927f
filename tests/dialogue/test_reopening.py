"""A job that was closed is opened again for an addition, and closed once more."""

from __future__ import annotations

from fieldvoice.dialogue import assistant
from fieldvoice.jobstate import events as e
from fieldvoice.jobstate.state import fold
from fieldvoice.language import intents as i
from fieldvoice.language.parser import understand
from fieldvoice.review.logged_job import read_job
from fieldvoice.review.report import report_html
from support.bench import Bench
from support.every_sort import TEXT, at


def hear(bench: Bench, *lines: str) -> str:
    return [bench.say(understand(line), words=line) for line in lines][-1]


def finished() -> Bench:
    bench = at(Bench(TEXT), "stand")
    hear(bench, "skip: no time", "yes", "next")
    assert bench.state.finished
    return bench


def reopen(bench: Bench, reason: str = "the owner called") -> str:
    bench.state = bench.refolded()
    bench.take_in(assistant.reopen(bench.state, bench.now, reason))
    return bench.text


def test_it_is_open_at_its_last_step_and_says_what_was_left_open() -> None:
    bench = finished()
    text = reopen(bench)
    assert "is open again" in text
    assert "1 step left undone: stand." in text
    assert (bench.state.finished, bench.state.step) == (False, "finish-up")
    assert bench.state.history.reopenings[0].ending == "done"


def test_readings_notes_and_corrections_are_taken_and_it_is_finished_again() -> None:
    bench = finished()
    reopen(bench)
    hear(bench, "suction 118", "correction 119", "note: filter changed", "vacuum 440 microns")
    assert bench.state.last("suction-pressure").now.said == "119"
    assert len(bench.state.notes) == 1
    assert "Job finished." in hear(bench, "next")
    assert bench.state.ending == "done"
    reopen(bench)
    assert "Job finished." in hear(bench, "finish the job")


def test_a_stage_left_undone_can_be_done_now() -> None:
    bench = finished()
    reopen(bench)
    hear(bench, "go to evacuate")
    assert bench.state.step == "pull"
    bench.read(440, "microns")
    assert bench.state.step == "stand"
    hear(bench, "start the hold")
    assert bench.state.hold is not None


def test_one_that_was_stopped_early_goes_on_where_it_stood() -> None:
    bench = at(Bench(TEXT), "pull")
    hear(bench, "finish the job", "yes")
    reopen(bench)
    assert bench.state.step == "pull"
    bench.read(440, "microns")
    assert bench.state.step == "stand"


def test_a_crash_after_the_reopening_resumes_as_any_job() -> None:
    bench = finished()
    reopen(bench)
    hear(bench, "suction 118")
    assert "goes on" in bench.resume()
    assert bench.state.step == "finish-up"
    assert fold(bench.refolded(), []) == bench.state


def test_the_report_says_when_it_was_reopened_and_what_was_added() -> None:
    bench = finished()
    reopen(bench)
    hear(bench, "suction 118", "note: filter changed", "next")
    page = report_html(read_job(bench.log, TEXT))
    assert "Opened again after the end" in page
    assert "the owner called" in page
    assert "reading: suction pressure 118 psig; note: filter changed; step done: finish up" in page
    assert "Opened again" not in report_html(read_job(finished().log, TEXT))


def test_a_reopening_is_no_deed_that_could_be_taken_back() -> None:
    bench = finished()
    reopen(bench)
    hear(bench, "undo")
    assert not bench.state.finished
    assert isinstance(bench.events(e.JobReopened)[-1], e.JobReopened)
    assert bench.say(i.Next())
