"""The shipped second network, on recorded lines of the demo."""

import numpy as np
import pytest

from fieldvoice.devices.recognizer import ModelError
from fieldvoice.devices.vosk_recognizer import OWN_MODEL
from fieldvoice.secondear.second_ear import LONGEST_S, SECOND, Opinion, SecondEar
from support.demo_line import spoken


@pytest.fixture(scope="module")
def ear():
    return SecondEar(OWN_MODEL)


SAID = "two ninety five microns"


@pytest.mark.parametrize("wrong", [
    "two ninety five", "two ninety microns", "nine ninety five microns"])
def test_of_two_equal_ways_what_was_said_is_by_far_the_likelier(ear, wrong):
    found = ear.weighed([(wrong, 0.5), (SAID, 0.5)], spoken(SAID)).ways
    assert found[0][0] == SAID
    assert found[0][1] > 0.95
    assert sum(share for _, share in found) == pytest.approx(1.0)


def test_the_first_opinion_counts_too(ear):
    wrong = "two ninety microns"
    evenly = ear.weighed([(wrong, 0.5), (SAID, 0.5)], spoken(SAID)).ways
    against = ear.weighed([(wrong, 0.9), (SAID, 0.1)], spoken(SAID)).ways
    assert dict(against)[SAID] < dict(evenly)[SAID]


def test_what_is_no_word_of_ours_stands_as_it_stood(ear):
    wrong = "two ninety microns"
    ways = [(SAID, 0.6), (wrong, 0.2), ("[unk] microns", 0.2)]
    found = dict(ear.weighed(ways, spoken(SAID)).ways)
    assert found["[unk] microns"] / found[SAID] == pytest.approx(
        (0.2 / 0.6) ** (1 + SECOND), rel=1e-3)
    assert found[wrong] < found["[unk] microns"]


@pytest.mark.parametrize("ways", [[], [("[unk]", 1.0)], [("", 0.5), ("[unk]", 0.5)]])
def test_where_there_is_nothing_to_weigh_nothing_changes(ear, ways):
    assert ear.weighed(ways, spoken(SAID)) == Opinion(tuple(ways))


def test_a_sole_way_is_sure_however_it_fits_and_how_it_fits_is_told(ear):
    right = ear.weighed([(SAID, 1.0)], spoken(SAID))
    wrong = ear.weighed([("start the hold", 1.0)], spoken(SAID))
    assert right.ways == ((SAID, 1.0),)
    assert wrong.ways == (("start the hold", 1.0),)
    assert right.unlike < 0.2
    assert wrong.unlike > 2.0


def test_a_sound_too_long_for_a_line_is_left_as_it_was_heard(ear):
    ways = [("no", 0.6), (SAID, 0.4)]
    sound = np.tile(spoken(SAID), 20)
    assert len(sound) > LONGEST_S * 16_000
    assert ear.weighed(ways, sound) == Opinion(tuple(ways))


@pytest.mark.parametrize("samples", [0, 100, 900])
def test_a_sound_too_short_for_its_words_is_left_as_it_was_heard(ear, samples):
    ways = [("four hundred twelve microns of what", 0.6), (SAID, 0.4)]
    assert ear.weighed(ways, np.zeros(samples, np.int16)) == Opinion(tuple(ways))


def test_a_folder_without_a_second_network_is_named(tmp_path):
    with pytest.raises(ModelError, match=r"network\.npz"):
        SecondEar(tmp_path)
