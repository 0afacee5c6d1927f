"""Accents and habits of speech: what is said stays, how it sounds changes.

The single habits (German S for TH and voiceless final stops, Spanish E before S and a consonant,
R not said after a vowel in southern England, a tap for T between vowels in America) are those of
Wells, Accents of English (1982), and Swan and Smith, Learner English (2001): from memory.
"""

import random

import pytest

from fieldvoice.training.speech.accents import ACCENTS, Accent, accented
from fieldvoice.training.speech.habits import hesitant, mumbled, native
from fieldvoice.training.speech.symbols import kokoro_symbols

THREE_FIVE = [["TH", "R", "IY1"], ["F", "AY1", "V"]]
STEP_FOUR = [["S", "T", "EH1", "P"], ["F", "AO1", "R"]]
EIGHTY = [["EY1", "T", "IY0"]]
RNG = random.Random


def ways(phones: list[list[str]], accent: Accent) -> set[str]:
    return {accented(phones, accent, RNG(seed)) for seed in range(200)}


@pytest.mark.parametrize("name", ACCENTS)
def test_without_strength_an_accent_is_none(name: str) -> None:
    plain = Accent({**ACCENTS[name].sounds})
    assert accented(THREE_FIVE, plain, RNG(1), strength=0.0) == kokoro_symbols(THREE_FIVE)


@pytest.mark.parametrize("name", ACCENTS)
def test_words_stay_as_many_and_something_sounds_otherwise(name: str) -> None:
    found = ways([*THREE_FIVE, *STEP_FOUR, *EIGHTY], ACCENTS[name])
    assert all(len(one.split(" ")) == 5 and all(one.split(" ")) for one in found)
    assert any(one != kokoro_symbols([*THREE_FIVE, *STEP_FOUR, *EIGHTY]) for one in found)


@pytest.mark.parametrize("name", ACCENTS)
def test_the_same_seed_speaks_alike(name: str) -> None:
    assert accented(THREE_FIVE, ACCENTS[name], RNG(3)) == accented(
        THREE_FIVE, ACCENTS[name], RNG(3)
    )


def test_habits_of_some_accents() -> None:
    assert any(one.startswith("s") for one in ways(THREE_FIVE, ACCENTS["german"]))
    assert any(one.endswith("f") for one in ways(THREE_FIVE, ACCENTS["german"]))
    assert any(one.startswith("ɛst") for one in ways(STEP_FOUR, ACCENTS["spanish"]))
    assert not any(one[-1] in "ɹrɾ" for one in ways(STEP_FOUR, ACCENTS["british"]))
    assert any("ɹ" in one for one in ways(THREE_FIVE, ACCENTS["british"]))  # before a vowel


def test_a_speaker_keeps_to_one_way_within_a_line() -> None:
    always = Accent({"TH": ("s", "t")}, strength=1.0)
    thrice = [["TH", "R", "IY1"]] * 3
    assert {len(set(one.split(" "))) for one in ways(thrice, always)} == {1}


def test_a_tap_stands_for_t_between_vowels_only() -> None:
    found = {native(kokoro_symbols([*EIGHTY, ["T", "EH1", "N"]]), RNG(seed)) for seed in range(60)}
    assert any("T" in one.split(" ")[0] for one in found)
    assert not any("T" in one.split(" ")[1] for one in found)


def test_who_mumbles_stresses_nothing() -> None:
    line = kokoro_symbols(THREE_FIVE)
    found = {mumbled(line, RNG(seed)) for seed in range(80)}
    assert found == {line, line.replace("ˈ", "")}


def test_a_pause_or_a_hesitation_leaves_the_words() -> None:
    line = kokoro_symbols(THREE_FIVE)
    found = {hesitant(line, RNG(seed)) for seed in range(300)}
    assert len(found) > 4
    first, last = line.split(" ")
    assert all(one.startswith(first) and one.endswith(last) for one in found)
    assert hesitant(first, RNG(1)) == first  # one word is not broken
