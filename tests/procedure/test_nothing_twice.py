"""No verdict and no choice leads to work that was just done: what is shut is not shut again."""

from __future__ import annotations

import re
from functools import cache

import pytest

from fieldvoice.procedure.check import load
from fieldvoice.procedure.model import Procedure
from fieldvoice.procedure.reader import shipped, shipped_names
from fieldvoice.procedure.step import Step
from support.flow_state import unproved

# what is shut, and by which words of a prompt it is shut and opened
VALVES = {
    "cylinder": (r"shut the (nitrogen|cylinder)",
                 r"nitrogen in,|raise to|open slowly to|with nitrogen\b|sweep the system|"
                 r"fit regulator"),
    "vacuum gauge": (r"shut the vacuum gauge's valve",
                     r"open the vacuum gauge's valve|put the vacuum gauge|vacuum gauge back"),
    "core tools": (r"shut every core tool|shut every valve between pump and system",
                   r"open the way from pump to system"),
    "pump": (r"stop the pump", r"run the pump|start the pump|pump the rig"),
}


@cache
def _procedure(name: str) -> Procedure:
    return load(shipped(name))


def _says(words: str, step: Step) -> bool:
    return re.search(words, step.say, re.I) is not None


@pytest.mark.parametrize("valve", VALVES)
@pytest.mark.parametrize("name", shipped_names())
def test_what_is_shut_or_stopped_is_not_shut_again_before_it_was_opened(
    name: str, valve: str
) -> None:
    shuts, opens = VALVES[valve]
    assert unproved(
        _procedure(name), wanted=lambda s: _says(shuts, s),
        brings=lambda s: _says(opens, s) and not _says(shuts, s),
        undoes=lambda s: _says(f"{shuts}|check that the {valve} is shut", s), at_first=True,
    ) == []


@pytest.mark.parametrize("name", shipped_names())
def test_a_way_on_leads_to_no_question_whose_answer_still_holds(name: str) -> None:
    """A question of what the system is (asked by others' conditions) is put once on the plain way.

    A choice that leads back to it would ask for the fixed orifice again after each reading.
    """
    procedure = _procedure(name)
    conditions = {when.answer for step in procedure.steps for when in step.when}
    kinds = conditions | {"metering", "unit-heats", "joint-kind"}
    for step in procedure.steps:
        for way in step.branches + step.choices:
            to = procedure.destination(step, way.to)
            before = procedure.steps.index(procedure.step(to)) < procedure.steps.index(step) \
                if to else False
            assert not (to in kinds and before), (step.name, way.name, to)
