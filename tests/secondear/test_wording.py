from itertools import product

import numpy as np
import pytest

from fieldvoice.acoustics.criterion import log_softmax, said
from fieldvoice.secondear.wording import log_chances, wording

LABELS = 4
SCORES = log_softmax((2 * np.random.default_rng(3).standard_normal((6, LABELS))).astype(np.float32))
LEXICON = {"one": [(1, 2)], "two": [(3,)], "either": [(2, 1), (3, 3)], "again": [(3,), (3,)]}


def collapsed(path):
    return tuple(p for p, before in zip(path, (0, *path), strict=False) if p not in (0, before))


def summed(phones, length=6):
    """Log of the chances of all paths of these phones, one by one."""
    chances = np.exp(SCORES[:length].astype(np.float64))
    paths = (path for path in product(range(LABELS), repeat=length) if collapsed(path) == phones)
    return np.log(sum(np.prod([chances[t, p] for t, p in enumerate(path)]) for path in paths))


@pytest.mark.parametrize(("words", "phones"), [
    ("one", (1, 2)), ("two", (3,)), ("one two", (1, 2, 3)), ("two two", (3, 3)), ("", ())])
def test_a_wording_is_as_likely_as_all_paths_of_its_phones_together(words, phones):
    found = log_chances(SCORES, [wording(words.split(), LEXICON)])
    assert found[0] == pytest.approx(summed(phones), abs=1e-4)


def test_all_ways_of_saying_a_word_count():
    found = log_chances(SCORES, [wording(["two", "either"], LEXICON)])
    both = np.logaddexp(summed((3, 2, 1)), summed((3, 3, 3)))
    assert found[0] == pytest.approx(both, abs=1e-4)


def test_wordings_side_by_side_are_as_likely_as_alone():
    words = ["one", "two one", "either two", "one either two"]
    graphs = [wording(w.split(), LEXICON) for w in words]
    alone = [log_chances(SCORES, [graph])[0] for graph in graphs]
    assert log_chances(SCORES, graphs) == pytest.approx(alone)


def test_the_learning_of_a_voice_finds_the_same_chances():
    totals, _ = said(SCORES[None].repeat(2, 0), [6, 6], [(1, 2, 3), (3, 3)])
    found = log_chances(SCORES, [wording(["one", "two"], LEXICON), wording(["two"] * 2, LEXICON)])
    assert found == pytest.approx(totals, abs=1e-4)


def test_what_does_not_fit_into_its_sound_has_no_chance():
    assert log_chances(SCORES[:2], [wording(["one", "two"], LEXICON)])[0] == -np.inf


def test_a_word_without_a_pronunciation_is_refused():
    with pytest.raises(KeyError, match="three"):
        wording(["one", "three"], LEXICON)
