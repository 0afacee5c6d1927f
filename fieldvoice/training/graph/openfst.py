"""OpenFst transducers (tropical weights), and their plain `vector` format."""

from __future__ import annotations

import struct
from dataclasses import dataclass, field
from pathlib import Path

MAGIC, VERSION = 2125659606, 2
EXPANDED, MUTABLE = 0x1, 0x2
INPUT_SORTED = 0x10000000
INFINITE = float("inf")


@dataclass
class Fst:
    """States 0..n-1 from 0; arcs (input, output, cost, next) by state; costs of final states."""

    arcs: list[list[tuple[int, int, float, int]]] = field(default_factory=list)
    finals: dict[int, float] = field(default_factory=dict)

    def state(self) -> int:
        """Add a state."""
        self.arcs.append([])
        return len(self.arcs) - 1

    def arc(self, source: int, input: int, output: int, cost: float, target: int) -> None:
        """Add an arc; label 0 is epsilon."""
        self.arcs[source].append((input, output, cost, target))


def header(kind: str, version: int, properties: int, start: int, states: int, arcs: int) -> bytes:
    """What every file of OpenFst begins with."""
    names = b"".join(struct.pack("<i", len(n)) + n.encode() for n in (kind, "standard"))
    flags = 0  # no symbol tables inside, no padding
    numbers = struct.pack("<iiQqqq", version, flags, properties, start, states, arcs)
    return struct.pack("<i", MAGIC) + names + numbers


def write_vector(fst: Fst, path: Path) -> None:
    """Write OpenFst's binary `vector` format, arcs sorted by input label."""
    count = sum(map(len, fst.arcs))
    properties = EXPANDED | MUTABLE | INPUT_SORTED
    written = header("vector", VERSION, properties, 0, len(fst.arcs), count)
    body = bytearray()
    for state, arcs in enumerate(fst.arcs):
        body += struct.pack("<fq", fst.finals.get(state, INFINITE), len(arcs))
        for arc in sorted(arcs):
            body += struct.pack("<iifi", *arc)
    path.write_bytes(written + bytes(body))
