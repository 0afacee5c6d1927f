"""What the report and the CSV show as counting is what counted for the work, in any whole job."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator
from datetime import timedelta
from decimal import Decimal
from html import unescape

import pytest

from fieldvoice.language import intents as i
from fieldvoice.procedure.check import load
from fieldvoice.procedure.reader import shipped, shipped_names
from fieldvoice.quantity.units import say
from fieldvoice.review.figures import headline
from fieldvoice.review.logged_job import read_job
from fieldvoice.review.readings_csv import readings_csv
from fieldvoice.review.report import report_html
from support.bench import Bench
from support.every_sort import TEXT, at
from support.transcripts import TRANSCRIPTS, replay
from support.walker import Walker, edges

PROCEDURES = sorted(shipped_names())


def walks(name: str) -> Iterator[Bench]:
    """Every twelfth way on of a procedure, walked to an ending."""
    procedure = load(shipped(name))
    for number, edge in enumerate(edges(procedure)):
        if number % 12 == 0:
            walker = Walker(procedure)
            walker.walk(edge)
            yield walker.bench


def repaired() -> Iterator[Bench]:
    """A job with every sort of repair, as it stands after each line."""
    bench = at(Bench(TEXT), "pull")
    for intent in (
        i.Reading(Decimal(900), "microns", None), i.Correction(Decimal(800)), i.TakeBack(),
        i.PutBack(), i.TakeBack(), i.Note("a note"), i.TakeBack(),
        i.StartTimer(timedelta(minutes=5), "oil"), i.AddTime(timedelta(minutes=5), "oil"),
        i.TakeBack(), i.StopTimer("oil"), i.TakeBack(), i.PutBack(),
        i.Reading(Decimal(450), "microns", None), i.StartHold(), i.Back(), i.PutBack(),
        i.TakeBack(), i.PutBack(), i.StopTimer("hold"), i.Back(), i.Correction(Decimal(700)),
        i.Reading(Decimal(430), "microns", None), i.Correction(Decimal(950)),
    ):
        bench.say(intent)
        bench.wait(seconds=20)
        yield bench


def agrees(bench: Bench) -> None:
    """Compare the texts of report and CSV with the state that the work was done with."""
    state = bench.state
    job = read_job(bench.log, bench.procedure.text)
    rows = csv.DictReader(io.StringIO(readings_csv(job.state)))
    assert [(int(row["seq"]), row["value"]) for row in rows if row["status"] == "counts"] == sorted(
        (reading.now.seq, reading.now.said) for reading in state.readings)
    page = unescape(report_html(job))
    values = re.findall(r"<tr><td>[^<]*</td><td><b>([^<]*)</b></td>", page)
    assert sorted(values) == sorted(say(r.now.value, r.now.unit) for r in state.readings)
    done = re.search(r"<dt>Steps done</dt><dd>([\d,]+)</dd>", page)
    assert done is not None
    assert int(done[1].replace(",", "")) == sum(not left.skipped for left in state.trail)
    given = re.findall(r'<div class="result"><h3 class="[a-z]*">([^<]*)</h3>', page)
    assert given == [headline(result.about, result.verdict) for result in state.results]
    ways = re.findall(r"<p><span class=\"dim\">Way taken:</span> ", page)
    opened = {visit.step for visit in state.history.visits}
    assert len(ways) == sum(branch.step in opened for branch in state.branches)
    notes = page.partition("<h2>Notes</h2>")[2].partition("</section>")[0]
    told = re.findall(r'<tr><td class="time">[^<]*</td><td>([^<]+)</td>', notes)
    assert told == [note.text for note in state.notes]
    timers = page.partition("<h2>Holds and timers</h2>")[2].partition("</section>")[0]
    counting = [t for t in state.history.timers if t.seq not in state.history.withdrawn]
    ends = re.findall(r"<td(?: class=\"time\")?>((?:running|finished|stopped)[^<]*)</td>", timers)
    assert [end.split()[0] for end in ends] == [
        state.timers[t.label].state if state.timers[t.label].seq == t.seq else t.state
        for t in counting]


@pytest.mark.parametrize("path", TRANSCRIPTS, ids=lambda path: path.stem)
def test_of_a_kept_transcript_the_same_counts(path) -> None:
    _, bench = replay(path.read_text(encoding="utf-8"))
    agrees(bench)


@pytest.mark.parametrize("name", PROCEDURES)
def test_of_a_walk_through_a_procedure_the_same_counts(name) -> None:
    for bench in walks(name):
        agrees(bench)


def test_of_a_job_with_every_sort_of_repair_the_same_counts_after_each_line() -> None:
    lines = 0
    for bench in repaired():
        agrees(bench)
        lines += 1
    assert bench.state.history.withdrawn
    assert lines == 24
