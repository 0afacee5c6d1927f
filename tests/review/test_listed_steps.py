"""Steps done in a list, jumped over or done elsewhere stand in the report as what they are."""

from __future__ import annotations

import re
from html import unescape

from fieldvoice.jobstate import events as e
from fieldvoice.jobstate.depths import READINGS_AND_HOLDS
from fieldvoice.language.parser import understand
from fieldvoice.review.event_words import describe
from fieldvoice.review.logged_job import read_job
from fieldvoice.review.report import report_html
from support.bench import Bench

TEXT = """\
procedure sweep "Sweep"
limit sweep = 10 psig source "common practice"
caution no-oxygen "Never oxygen." acknowledge
stage ready "Make ready"
step rig
  say "Fit the regulator."
  caution no-oxygen
step oil
  say "Change the pump oil."
step hoses
  say "Connect the hoses."
step sweep-in
  say "Let nitrogen in."
  read nitrogen-pressure at most sweep
step last
  say "Pack up."
  end done "Done."
"""
IN_STAGES = TEXT.replace("step sweep-in", 'stage sweeping "Sweep it"\nstep sweep-in')


def _page(*lines: str) -> str:
    bench = Bench(TEXT, depth=READINGS_AND_HOLDS)
    for line in lines:
        bench.say(understand(line), words=line)
    page = report_html(read_job(bench.log, TEXT), version="inspector")
    return unescape(re.sub(r"\\s+", " ", re.sub(r"<[^>]+>", " ", page)))


def test_each_step_of_a_list_is_told_as_one() -> None:
    page = _page("understood and done", "nitrogen 5 psig")
    for words in ("Change the pump oil.", "Connect the hoses."):
        assert words in page
    assert page.count("Done, one of a list.") == 2
    assert "step done: oil, one of a list" in page
    assert "depth: readings and holds" in page


def test_steps_of_a_list_stand_under_the_title_of_their_stage() -> None:
    bench = Bench(TEXT, depth=READINGS_AND_HOLDS)
    for line in ("understood and done", "nitrogen 5 psig"):
        bench.say(understand(line), words=line)
    page = report_html(read_job(bench.log, TEXT), version="inspector")
    assert re.findall(r'<div class="stage"><h3>(.*?)</h3>', page) == ["Make ready"]


def test_a_list_that_was_not_confirmed_is_not_told_as_done() -> None:
    page = _page("understood and done")
    assert page.count("Listed, not done.") == 2
    assert "step done: oil" not in page
    assert "steps listed before sweep in: oil, hoses" in page


def test_events_of_the_depth_are_told_in_words() -> None:
    assert describe(e.DepthChanged("limits-only", ["gates"])) == (
        "depth: limits only, gates each with its prompt")
    assert describe(e.Said("Close it.", "prompt", aloud=False)) == "shown (prompt): Close it."


def test_a_step_of_a_list_stands_under_the_title_of_its_stage() -> None:
    bench = Bench(IN_STAGES, depth=READINGS_AND_HOLDS)
    for line in ("understood and done", "nitrogen 5 psig"):
        bench.say(understand(line), words=line)
    page = report_html(read_job(bench.log, IN_STAGES), version="inspector")
    assert re.findall(r"<h3>(.*?)</h3>", page) == ["Make ready", "Sweep it"]


def test_what_was_jumped_over_counts_as_left_open_once_on_the_first_page() -> None:
    bench = Bench(IN_STAGES)
    for line in ("understood", "next", "go to sweep it", "yes"):
        bench.say(understand(line), words=line)
    page = report_html(read_job(bench.log, IN_STAGES), version="inspector")
    assert "2 left open" in page
    assert "skipped<" not in page
    assert page.count("<h2>Left open</h2>") == 1
    assert "Skipped steps" not in page


def test_what_counts_as_done_elsewhere_is_listed_with_the_reason() -> None:
    bench = Bench(IN_STAGES)
    bench.happen(e.StepCarried("hoses", "done for unit one at 9:14"))
    page = report_html(read_job(bench.log, IN_STAGES), version="inspector")
    assert "1 carried over" in page
    assert '<td class="time">Hoses</td><td>done for unit one at 9:14</td>' in page
