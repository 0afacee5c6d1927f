"""The opening of a job leaves pauses to begin to speak in, and ends when spoken to."""

import pytest

from fieldvoice.devices.mouth.opening import MOST_S, PAUSE_S, Opening
from fieldvoice.devices.mouth.waiting import PATIENCE_S, Utterance, Waiting

CODE = Utterance("Code comes first.", "caution", asked=False, opening=True)
SAFE = Utterance("Make safe.", "prompt", asked=False, opening=True)
GLOVES = Utterance("Gloves.", "caution", asked=False, opening=True)
ANSWER = Utterance("Five pounds.", "answer", 1)


def said(waiting: Waiting) -> list[Utterance]:
    found = []
    while (one := waiting.next(0.0, False)) is not None:
        found.append(one)
    return found


def opened() -> Waiting:
    found = Waiting()
    for one in (CODE, SAFE, GLOVES):
        found.add(one)
    return found


@pytest.mark.parametrize(
    ("after_s", "begins", "holds"),
    [(0.1, False, True), (PAUSE_S - 0.1, False, True), (PAUSE_S + 0.1, False, False),
     (PAUSE_S + 0.1, True, True), (MOST_S + 0.1, True, False)],
)  # fmt: skip
def test_after_each_part_there_is_a_pause_that_who_begins_to_speak_makes_longer(
    after_s: float, begins: bool, holds: bool
) -> None:
    opening = Opening(lambda: begins)
    assert not opening.holds(5.0)  # the first part does not wait
    opening.part_ends(10.0)
    assert opening.holds(10.0 + after_s) is holds
    assert opening.holds(9.0)  # it still sounds


def test_only_the_opening_waits_for_its_pause() -> None:
    waiting = opened()
    assert waiting.next(0.0, False, opening_waits=True) is None
    waiting.add(ANSWER)
    assert waiting.next(0.0, False, opening_waits=True) == ANSWER
    assert waiting.next(0.0, False) == CODE


def test_its_cautions_wait_for_someone_who_speaks_but_not_for_ever() -> None:
    assert opened().next(1.0, someone_speaks=True) is None
    assert opened().next(PATIENCE_S[False] + 1.0, someone_speaks=True) == CODE


def test_a_spoken_line_ends_it_and_its_cautions_come_after_the_answer() -> None:
    waiting = opened()
    waiting.end_opening(cautions=False)
    waiting.add(ANSWER)
    assert said(waiting) == [ANSWER, CODE, GLOVES]


def test_a_key_ends_all_of_it() -> None:
    waiting = opened()
    waiting.end_opening(cautions=True)
    waiting.add(ANSWER)
    assert said(waiting) == [ANSWER]
