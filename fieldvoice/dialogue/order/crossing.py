"""From one stage to another: what is logged where a stage is left and another one entered."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from fieldvoice.jobstate import events as e
from fieldvoice.jobstate.state import JobState

# how a stage was left, by what came with it; the first that did
_HOW: tuple[tuple[type[e.Event], str], ...] = (
    (e.TestCarried, "carried-over"), (e.Withdrawn, "back"), (e.Jumped, "jumped"),
)  # fmt: skip
STOPPED = "stopped-early"


def stage_now(state: JobState) -> str | None:
    """The stage of the open step; None while none is open."""
    return None if state.open_step is None else state.open_step.stage


def stage_of(state: JobState, event: e.Event) -> str | None:
    """The stage that an event about to be logged leads into; None: out of the one that was."""
    if isinstance(event, e.StepOpened):
        return event.stage
    return None if isinstance(event, e.JobFinished) else state.in_stage


def crossing(
    state: JobState, happened: Sequence[e.Event], to: str | None, now: e.Event | None = None
) -> Iterator[e.Event]:
    """The events of going over into stage `to`; none where it is the one that one is in.

    `happened`: of the turn so far; `now`: what is about to be logged.
    """
    if to == state.in_stage:
        return
    if state.in_stage is not None:
        how = _how([*happened, now] if now else happened)
        yield e.StageLeft(state.in_stage, _everywhere(state, state.in_stage), how)
    if to is not None:
        yield e.StageEntered(to, _everywhere(state, to))


def _how(happened: Sequence[e.Event]) -> str:
    if any(isinstance(event, e.JobFinished) and event.ending == STOPPED for event in happened):
        return STOPPED
    for kind, how in _HOW:
        found = next((event for event in happened if isinstance(event, kind)), None)
        if found is not None:
            return "back" if isinstance(found, e.Jumped) and found.back else how
    left = next((event for event in reversed(happened)
                 if isinstance(event, e.StepDone | e.StepSkipped)), None)
    asked_for = isinstance(left, e.StepSkipped) and left.line is not None
    return "skipped" if asked_for else "done"


def _everywhere(state: JobState, stage: str) -> str:
    """A job whose procedure was changed by hand may have left a stage that is no more."""
    found = state.procedure.stages.get(stage)
    return stage if found is None else found.everywhere
