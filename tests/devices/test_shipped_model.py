"""The speech model that is shipped belongs to the grammar that is shipped."""

import pytest

from fieldvoice.devices.vosk_recognizer import OWN_MODEL, check_model, is_own
from fieldvoice.devices.vosk_result import BEGINS
from fieldvoice.language.decoding_graph import words

pytestmark = pytest.mark.skipif(not OWN_MODEL.is_dir(), reason="needs the speech model")


def test_the_model_is_whole_and_our_own():
    check_model(OWN_MODEL)
    assert is_own(OWN_MODEL)


def test_the_model_hears_exactly_the_words_of_the_grammar():
    lines = (OWN_MODEL / "graph" / "words.txt").read_text(encoding="utf-8").splitlines()
    heard = {line.split()[0].removeprefix(BEGINS) for line in lines} - {"<eps>", "[unk]"}
    renew = "renew the graph: python -m fieldvoice.training.graph.export"
    assert heard == set(words()), renew
