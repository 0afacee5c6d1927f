"""A job of several units is one log: each unit folds its own lines, and those that hold for all."""

from __future__ import annotations

from datetime import timedelta

import pytest

from fieldvoice.jobstate import events as e
from fieldvoice.jobstate.job import FIRST, Job, fold_job, tagged
from fieldvoice.jobstate.state import JobState, fold
from fieldvoice.jobstate.unit_names import called, find, listed
from fieldvoice.procedure.check import load
from support.bench import START, Bench
from support.job_bench import JobBench
from support.small_procedure import TEXT

PROCEDURE = load(TEXT)
EMPTY = Job.of(JobState.empty(PROCEDURE))


class ToldToAll(e.Event, frozen=True):
    """Something that holds for every unit."""

    line: int | None = None

    @property
    def whole_job(self) -> bool:
        return True


del e.KINDS[ToldToAll.kind]  # of these tests alone: no log has it

def entries(*events: tuple[e.Event, str]) -> list[e.Entry]:
    return [tagged(e.Entry(seq, START + timedelta(seconds=seq), event), unit)
            for seq, (event, unit) in enumerate(events, start=1)]


def started(job: str = "j") -> e.JobStarted:
    return e.JobStarted(job, PROCEDURE.name, PROCEDURE.sha256, "0")


TWO = ((started(), FIRST), (started(), "unit two"))


def test_a_log_without_units_is_folded_as_ever() -> None:
    bench = Bench(TEXT)
    bench.read(410, "microns", "vacuum")
    job = fold_job(EMPTY, bench.log)
    assert job.state == fold(JobState.empty(PROCEDURE), bench.log) == bench.state
    assert (list(job.states), job.open, job.several) == ([FIRST], FIRST, False)


def test_each_unit_takes_in_its_own_lines_only() -> None:
    opened = e.StepOpened("evacuate", "pull")
    job = fold_job(EMPTY, entries(*TWO, (opened, "unit two")))
    assert (job.states[FIRST].step, job.states["unit two"].step) == (None, "pull")
    assert job.at(FIRST).next_seq == 4


def test_the_open_unit_is_the_one_opened_last() -> None:
    job = fold_job(EMPTY, entries(*TWO, (e.UnitOpened(), "unit two")))
    assert job.open == "unit two"
    assert job.state == job.states["unit two"]


def test_what_holds_for_the_whole_job_reaches_every_unit_and_so_does_its_taking_back() -> None:
    told = entries(*TWO, (ToldToAll(3), FIRST), (e.Withdrawn(3, 4), "unit two"))
    job = fold_job(EMPTY, told[:3])
    assert job.course.shared == {3}
    job = fold_job(EMPTY, told)
    assert all(3 in state.history.withdrawn for state in job.states.values())
    assert job.states["unit two"].undone is not None
    assert job.states[FIRST].undone is None


def test_a_withdrawal_of_one_unit_leaves_the_others_alone() -> None:
    job = fold_job(EMPTY, entries(*TWO, (e.Withdrawn(2), "unit two")))
    assert not job.states[FIRST].history.withdrawn


def test_a_gap_is_found_over_all_units() -> None:
    log = entries(*TWO, (e.UnitOpened(), "unit two"))
    with pytest.raises(ValueError, match="event 3 follows 1"):
        fold_job(EMPTY, [log[0], log[2]])


def test_a_unit_whose_procedure_is_not_kept_is_refused_and_read_past_by_a_reader() -> None:
    other = e.JobStarted("j", "other", "0" * 64, "0")
    log = entries((started(), FIRST), (other, "unit two"))
    with pytest.raises(ValueError, match="unit two, whose procedure is not kept"):
        fold_job(EMPTY, log)
    assert list(fold_job(EMPTY, log, lenient=True).states) == [FIRST, "unit two"]


def test_the_job_is_finished_when_all_its_units_are() -> None:
    log = entries(*TWO, (e.JobFinished("released"), "unit two"), (e.JobFinished("held"), FIRST))
    assert [fold_job(EMPTY, log[:n]).finished for n in (2, 3, 4)] == [False, False, True]


@pytest.mark.parametrize("cut", range(1, 60, 3))
def test_a_log_cut_anywhere_gives_the_job_as_it_was_there(cut: int) -> None:
    bench = JobBench(TEXT)
    for line in ("understood", "new unit two", "understood", "vacuum 400", "start the hold",
                 "unit one 410 microns", "louder", "unit one", "unit three", "no", "stand by"):
        bench.say(line)
    one, whole = bench.log[:cut], bench.log
    assert fold_job(fold_job(EMPTY, one), whole[cut:]) == fold_job(EMPTY, whole) == bench.job


# --- names ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("second", "first", "found"),
    [
        ("unit two", "unit one", {"unit one": FIRST, "indoor one": FIRST, "indoor two": None}),
        ("indoor two", "indoor one", {"indoor one": FIRST, "unit one": FIRST}),
        ("indoor one", "unit one", {"indoor one": "indoor one", "unit one": FIRST}),
        ("unit one, vacuum", "unit one", {"unit one": "unit one, vacuum"}),
    ],
)
def test_the_first_unit_is_called_as_the_second_is(
    second: str, first: str, found: dict[str, str | None]
) -> None:
    job = EMPTY.with_unit(second, PROCEDURE)
    assert called(job, FIRST) == first
    assert {name: find(job, name) for name in found} == found


def test_units_are_listed_as_they_are_said() -> None:
    job = EMPTY.with_unit("unit two", PROCEDURE).with_unit("unit three", PROCEDURE)
    assert listed(job, [FIRST]) == "unit one"
    assert listed(job, job.states, "or") == "unit one, unit two or unit three"
