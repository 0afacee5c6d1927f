import numpy as np
import pytest

from fieldvoice.commands.wiring.models import load_ear, load_recognizer
from fieldvoice.devices.recognizer import Utterance, Way, Word
from fieldvoice.secondear.second_ear import Opinion
from fieldvoice.secondear.two_ears import TwoEars
from support.fake_recognizer import FakeRecognizer

SOUND = np.repeat(np.array([7, 8, 0, 9, 0], np.int16), 100)


class Turned:
    """A second ear that believes the last way most."""

    def weighed(self, ways, sound):
        turned = zip(ways[::-1], ways, strict=True)
        return Opinion(tuple((words, share) for (words, _), (_, share) in turned), 0.3)


@pytest.fixture
def both():
    return TwoEars(FakeRecognizer(), Turned())


def test_it_hears_with_the_first_ear(both):
    assert [u.words for u in both.hear_lines(SOUND, chunk=100)] == ["7 8", "9"]
    both.feed(SOUND[:100])
    assert both.hearing() == "7"
    assert both.open_s() == 0.0
    both.forget()
    assert both.finish() is None
    assert both.hear(SOUND).words == "7 8 9"


def test_words_that_change_have_no_times_and_their_own_confidence(both):
    word = Word("six", 0.1, 0.4, 0.7)
    ways = (Way("six", 0.7), Way("six ten", 0.2), Way("five ten", 0.1))
    found = both.weighed(Utterance("six", 0.7, (word,), ways, score=3.0), SOUND)
    assert found.words == "five ten"
    assert found.parts == ()
    assert found.confidence == pytest.approx(0.7)  # "ten" has 0.9, "five" 0.7
    assert [way.words for way in found.ways] == ["five ten", "six ten", "six"]
    assert (found.score, found.unlike) == (3.0, 0.3)


def test_words_that_stay_keep_their_times():
    class Same:
        def weighed(self, ways, sound):
            return Opinion((("six", 0.9), ("five", 0.1)))

    word = Word("six", 0.1, 0.4, 0.7)
    said = Utterance("six", 0.7, (word,), (Way("six", 0.7), Way("five", 0.3)))
    found = TwoEars(FakeRecognizer(), Same()).weighed(said, SOUND)
    assert found.parts == (word,)
    assert found.confidence == pytest.approx(0.9)


def test_nothing_heard_stays_nothing(both):
    assert both.weighed(Utterance("", 0.0), SOUND) == Utterance("", 0.0)


def test_our_own_model_is_heard_with_both_ears():
    assert isinstance(load_recognizer(None), TwoEars)
    assert isinstance(load_ear(None, lambda intent: False), TwoEars)
