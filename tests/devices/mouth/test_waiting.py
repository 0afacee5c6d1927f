"""The order of what waits, and the times in which it sounds: both pure."""

import pytest

from fieldvoice.devices.mouth.sounding import KEPT_S, Sounding
from fieldvoice.devices.mouth.waiting import PATIENCE_S, Utterance, Waiting


def waiting(*utterances: Utterance) -> Waiting:
    found = Waiting()
    for one in utterances:
        found.add(one)
    return found


@pytest.mark.parametrize("asked", [True, False])
def test_nothing_waits_for_ever_while_someone_speaks(asked: bool) -> None:
    one = Utterance("Said.", "answer", asked=asked, since=100.0)
    patience = PATIENCE_S[asked]
    assert waiting(one).next(100.0 + patience - 0.1, someone_speaks=True) is None
    assert waiting(one).next(100.0 + patience - 0.1, someone_speaks=False) == one
    assert waiting(one).next(100.0 + patience + 0.1, someone_speaks=True) == one


def test_what_waits_for_silence_does_not_hold_up_what_protects() -> None:
    timer = Utterance("Timer.", "alert", asked=False, since=100.0)
    caution = Utterance("Care.", "caution", asked=False, since=100.0)
    assert waiting(timer, caution).next(101.0, someone_speaks=True) == caution


def test_a_newer_question_replaces_an_older_one_and_leaves_a_prompt() -> None:
    old, prompt, new = (
        Utterance("Old?", "question", 1), Utterance("Prompt.", "prompt", 1),
        Utterance("New?", "question", 2),
    )  # fmt: skip
    left = waiting(old, prompt, new)
    assert [left.next(0.0, False) for _ in range(3)] == [prompt, new, None]


def test_what_was_cut_short_comes_first_of_its_urgency() -> None:
    left = waiting(Utterance("Caution.", "caution"), Utterance("Later.", "answer"))
    left.add(Utterance("Cut.", "prompt"), first=True)
    said = [left.next(0.0, False) for _ in range(3)]
    assert [one.text for one in said if one] == ["Caution.", "Cut.", "Later."]


def test_sound_is_known_of_for_longer_than_a_minute_and_joined_where_it_overlaps() -> None:
    sounding = Sounding()
    for start in (10.0, 10.1, 10.2):
        sounding.note(start, start + 0.3)
    sounding.note(20.0, 20.5)
    asked = (9.9, 10.0, 10.45, 10.6, 19.9, 20.2, 20.6)
    assert [sounding.at(t) for t in asked] == [False, True, True, False, False, True, False]
    sounding.note(20.5 + KEPT_S - 1, 200.0)
    assert sounding.at(20.2)
    assert not sounding.at(10.1)
