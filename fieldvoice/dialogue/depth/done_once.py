"""Steps that are done once a job: which of them another unit's or procedure's sheet has done."""

from __future__ import annotations

from collections.abc import Mapping

from fieldvoice.jobstate.events import StepCarried
from fieldvoice.jobstate.records import StepExit
from fieldvoice.jobstate.state import JobState
from fieldvoice.procedure.step import Step


def done_once(new: JobState, others: Mapping[str, JobState]) -> list[StepCarried]:
    """What a new sheet takes over from the others of the job, named as it is said: "unit one".

    Only steps that say the same on both sheets count, done there and neither skipped nor taken
    back; where several have done one, the newest word on it. The cautions that were acknowledged
    with it hold here as well, all others are asked again. A step that ends the procedure is never
    taken over: the job would have nowhere to go.
    """
    found: list[StepCarried] = []
    for step in new.procedure.steps:
        if not step.once or step.ending is not None:
            continue
        done = [(left, name) for name, sheet in others.items()
                if (left := _done(sheet, step)) is not None]
        if done:
            left, name = max(done, key=lambda one: one[0].at)
            why = f"done for {name} at {left.at:%-H:%M}"
            found.append(StepCarried(step.name, why, None, _acknowledged(others[name], step)))
    return found


def _done(sheet: JobState, step: Step) -> StepExit | None:
    """When a sheet did this very step last; None when it did not."""
    there = sheet.procedure.by_name.get(step.name)
    if there is None or not there.once or _what(there) != _what(step):
        return None
    left = next((v for v in reversed(sheet.trail) if v.step == step.name), None)
    return None if left is None or left.skipped else left


def _what(step: Step) -> tuple[str, str, tuple[str, ...], bool]:
    return step.say, step.show, step.cautions, step.gate


def _acknowledged(sheet: JobState, step: Step) -> list[str]:
    return [name for name in step.cautions
            if sheet.procedure.cautions[name].acknowledge and name in sheet.acknowledged]
