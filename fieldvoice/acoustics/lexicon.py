"""How the words of a model are pronounced, read back from its lexicon graph/HCLr.fst.

The lexicon is a transducer from transitions of phones to words in OpenFst's `const` format, made by
training/graph/lexicon_graph.py: each word's number stands on the way into its last phone.
"""

from __future__ import annotations

import struct
from collections.abc import Iterator
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from fieldvoice.acoustics.errors import LayoutError

Phones = tuple[int, ...]  # network outputs, from 1; 0 is blank

_SILENT_IDS = 2  # transitions of silence, which come first
_IDS, _PASSES_ON = 5, 2  # transitions of a phone; the one that leads on without a blank
_POSITIONS, _ENDS = 4, (2, 3)  # a phone's positions in a word: begin, inside, end, single
_STATE = np.dtype([("cost", "<f4"), ("first", "<u4"), ("arcs", "<u4"), ("epsilons", "<u4", 2)])
_ARC = np.dtype([("input", "<i4"), ("output", "<i4"), ("cost", "<f4"), ("target", "<i4")])


def read_lexicon(model: Path) -> dict[str, list[Phones]]:
    """Each word's pronunciations. Raises LayoutError where the model has no such lexicon."""
    try:
        named = (model / "graph" / "words.txt").read_text("utf-8").split("\n")
        data = (model / "graph" / "HCLr.fst").read_bytes()
        words = {int(number): word for word, number in (w.split() for w in named if w)}
        states, arcs = _const_fst(data)
    except (OSError, ValueError, struct.error, IndexError):
        raise LayoutError(
            f"{model} has no lexicon of Fieldvoice's own layout (graph/HCLr.fst and "
            "graph/words.txt): leave out --model, or name one of Fieldvoice's own") from None
    found: dict[str, set[Phones]] = {}
    for number, phones in _pronounced(states, arcs):
        found.setdefault(words.get(number, ""), set()).add(phones)
    return {word: sorted(ways) for word, ways in found.items()}


def _const_fst(data: bytes) -> tuple[NDArray[np.void], NDArray[np.void]]:
    """States and arcs; a transducer with look-ahead data is one inside another's header."""
    kind, at, _, _ = _header(data, 0)
    if kind != "olabel_lookahead":
        raise ValueError(kind)
    _, at, states, arcs = _header(data, at + 4)
    found = np.frombuffer(data, _STATE, states, at)
    return found, np.frombuffer(data, _ARC, arcs, at + found.nbytes)


def _header(data: bytes, at: int) -> tuple[str, int, int, int]:
    """Kind, where the header ends, number of states and of arcs."""
    names, at = [], at + 4
    for _ in range(2):
        (size,) = struct.unpack_from("<i", data, at)
        names.append(data[at + 4 : at + 4 + size].decode())
        at += 4 + size
    *_, states, arcs = struct.unpack_from("<iiQqqq", data, at)
    return names[0], at + struct.calcsize("<iiQqqq"), states, arcs


def _pronounced(
    states: NDArray[np.void], arcs: NDArray[np.void]
) -> Iterator[tuple[int, Phones]]:
    """Walk all ways from the start to the last phone of a word."""
    waiting: list[tuple[int, Phones]] = [(0, ())]
    seen = set(waiting)
    while waiting:
        state, phones = waiting.pop()
        first, count = int(states[state]["first"]), int(states[state]["arcs"])
        for arc in arcs[first : first + count]:
            taken, word = int(arc["input"]), int(arc["output"])
            if taken == 0:
                following = None if word else (int(arc["target"]), phones)  # [unk] is no word
            elif taken <= _SILENT_IDS or (taken - _SILENT_IDS - 1) % _IDS != _PASSES_ON:
                continue
            else:
                phone = (taken - _SILENT_IDS - 1) // _IDS
                said = (*phones, phone // _POSITIONS + 1)
                if word:
                    yield word, said
                ends = phone % _POSITIONS in _ENDS
                following = None if ends else (int(arc["target"]), said)
            if following is not None and following not in seen:
                seen.add(following)
                waiting.append(following)
