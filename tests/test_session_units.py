"""The loop with several units: what is logged before what, and what a failing log leaves."""

from __future__ import annotations

import pytest

from fieldvoice.dialogue.units import handle
from fieldvoice.jobstate.events import LineHeard, ReadingTaken
from fieldvoice.jobstate.job import Job, fold_job, unit_of
from fieldvoice.jobstate.state import JobState
from fieldvoice.language.parser import understand
from fieldvoice.procedure.check import load
from fieldvoice.session import Session
from support.bench import START
from support.job_bench import JobBench
from support.small_procedure import TEXT

OTHER = load(TEXT.replace("procedure pump-down", "procedure pump-again", 1))
EMPTY = Job.of(JobState.empty(load(TEXT)), [OTHER])


class Desk:
    """A session whose log is a list that may refuse to take more, and which keeps the order."""

    def __init__(self) -> None:
        self.happened: list[object] = []
        self.room = 1_000
        self.session = Session(EMPTY, self.append, self.happened.append, lambda: START,
                               find=lambda name: OTHER, keep=self.happened.append)
        self.session.begin("job", {})

    def append(self, event, at, unit=None):
        if len(self.entries) >= self.room:
            raise OSError("disk full")
        self.happened.append(handle.events.Entry(len(self.entries) + 1, at, event, unit))
        return self.happened[-1]

    @property
    def entries(self):
        return [one for one in self.happened if isinstance(one, handle.events.Entry)]


def test_the_text_of_another_procedure_is_kept_before_its_unit_is_logged() -> None:
    desk = Desk()
    desk.session.job = Job.of(desk.session.state)  # which does not know the other one yet
    desk.session.hear_line("new unit 2 pump-again", "typed")
    begun = next(n for n, one in enumerate(desk.happened) if getattr(one, "unit", None))
    assert desk.happened.index(OTHER) < begun


@pytest.mark.parametrize("more", range(7))
def test_when_the_log_fails_the_job_holds_what_was_logged(more: int) -> None:
    desk = Desk()
    desk.session.hear_line("understood", "typed")
    desk.room = len(desk.entries) + more
    with pytest.raises(OSError, match="disk full"):
        desk.session.hear_line("new unit 2 pump-again", "typed")
    assert desk.session.job == fold_job(EMPTY, desk.entries)


def test_free_text_is_expected_where_another_unit_asked_for_it() -> None:
    desk = Desk()
    for line in ("understood", "new unit two", "understood"):
        desk.session.hear_line(line, "typed")
    assert not desk.session.expects_free_text
    desk.session.hear_line("unit one skip", "typed")
    assert desk.session.expects_free_text


def test_of_two_ways_to_hear_a_line_for_a_unit_the_one_that_it_waits_for_counts() -> None:
    desk = Desk()
    for line in ("understood", "new unit two"):
        desk.session.hear_line(line, "typed")
    ways = [("unit one volts five hundred fifty", 0.52),
            ("unit one vacuum five hundred fifty", 0.48)]
    desk.session.hear_line(ways[0][0], "voice", 0.52, None, ways)
    heard = [one.event for one in desk.entries if isinstance(one.event, LineHeard)][-1]
    assert heard.words == "unit one vacuum five hundred fifty"


def test_what_a_unit_waits_for_is_expected_of_that_unit() -> None:
    bench = JobBench(TEXT)
    bench.say("understood")
    bench.say("new unit two")
    assert handle.is_expected(bench.job, understand("unit one four hundred ten"))
    assert not handle.is_expected(bench.job, understand("unit two four hundred ten"))
    assert not handle.is_expected(bench.job, understand("unit nine four hundred ten"))
    bench.say("unit three")
    assert handle.is_expected(bench.job, understand("yes"))


def test_a_number_behind_a_unit_that_sounds_like_a_range_is_read_back() -> None:
    desk = Desk()
    desk.session.hear_line("understood", "typed")
    desk.session.hear_line("unit one five two eight", "voice", 0.99)
    assert not [one for one in desk.entries if isinstance(one.event, ReadingTaken)]
    assert desk.session.state.question is not None
    assert {unit_of(one) for one in desk.entries} == {"unit one"}
