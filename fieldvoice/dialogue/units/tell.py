"""Answers that concern the units as such; they change nothing."""

from __future__ import annotations

from fieldvoice.dialogue import holds, prompts
from fieldvoice.dialogue.turn import Heard, Turn
from fieldvoice.dialogue.units.round import Round
from fieldvoice.jobstate import unit_names as names
from fieldvoice.jobstate.job import Job
from fieldvoice.quantity.quantities import speakable


def ask_units(turns: Round, heard: Heard) -> None:
    """Each unit in a short sentence: its step, what runs, its last reading."""
    job = turns.job
    turn = turns.turn(job.open)
    turn.hear(heard)
    if job.several:
        turn.answer(f"{names.at_the_start(names.called(job, job.open))} is open.")
    for unit in job.states:
        turn.answer(standing(job, unit, turns.turn(unit)))
    turns.take(job.open, turn.finish())


def standing(job: Job, unit: str, turn: Turn) -> str:
    """A unit in a short sentence or two."""
    name, state = names.at_the_start(names.called(job, unit)), turn.state
    if state.finished:
        return f"{name} is finished: {(state.ending or '').replace('-', ' ')}."
    parts = [f"{name}, step {prompts.step_words(state)}.", holds.all_left(turn)]
    last = state.last()
    if last is not None:
        parts.append(f"Last {speakable(last.quantity)} {prompts.shown(last)}.")
    return " ".join(part for part in parts if part)


def not_begun(turns: Round, heard: Heard, name: str) -> None:
    """A line for a unit that was never begun."""
    refuse(turns, heard, f"{names.at_the_start(name)} is not open. Say new {name} to begin it.")


def is_finished(job: Job, unit: str) -> str:
    """Why a line does nothing there, and where the job goes on."""
    left = [other for other, state in job.states.items() if not state.finished]
    on = f" Say {names.listed(job, left, 'or')} to go on." if left else ""
    return f"{names.at_the_start(names.called(job, unit))} is finished.{on}"


def refuse(turns: Round, heard: Heard, why: str) -> None:
    """What was asked for is not done."""
    turn = turns.turn(turns.job.open)
    turn.hear(heard)
    turn.refuse(why)
    turns.take(turns.job.open, turn.finish())
